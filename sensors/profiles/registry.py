"""The profiles this program brings along, by name, and the profile of a sensor that has introduced itself.

The files beside this module are part of the package, like code: the same on every machine. A person's own files are read
by `sensors/profile_files.py`; in a recording the text of the profile goes with the sensor.
"""

from __future__ import annotations

from importlib import resources
from typing import Final

from sensors.errors import ProfileError, UnknownProfile
from sensors.events import SensorInfo
from sensors.profiles.base import AnyProfile, Profile
from sensors.profiles.float_imu import NAME as FLOAT_IMU_NAME
from sensors.profiles.float_imu import profile_of as float_profile_of
from sensors.profiles.load import load_profile, parse_name

_BUILT_IN: Final = ("open-imu-1", "movesense-gsp", "thingy-52")


def _built_in() -> dict[str, Profile]:
    folder = resources.files(__package__)
    texts = {f"{name}.toml": folder.joinpath(f"{name}.toml").read_text(encoding="utf-8") for name in _BUILT_IN}
    return {profile.name: profile for profile in (load_profile(text, file) for file, text in texts.items())}


PROFILES: Final[dict[str, Profile]] = _built_in()
"""Kinds of radio sensor that need no file of the person's own."""


def profile_named(name: str) -> AnyProfile:
    """Look a profile up; raises `UnknownProfile`.

    The float profile's name holds its rate, `float-imu-1@199.870`; that of another any settings that are not the device's own.
    """
    base, settings = parse_name(name)
    own = PROFILES.get(base)
    profile: AnyProfile | None = None
    if own is not None and settings is not None:
        try:
            profile = load_profile(own.text, f"{base}.toml", settings)
        except ProfileError:  # settings of a newer version
            profile = None
    profile = profile or float_profile_of(name)
    if profile is None:
        raise UnknownProfile(name, (*PROFILES, FLOAT_IMU_NAME))
    return profile


def profile_of(info: SensorInfo) -> AnyProfile:
    """Give the profile of a sensor that has introduced itself: the one it brought along, or else the one of its name.

    Raises `UnknownProfile`, and `ProfileError` for a text that this program cannot read, as of a newer version.
    """
    if not info.profile_text:
        return profile_named(info.profile)
    base, settings = parse_name(info.profile)
    if settings is None:
        raise UnknownProfile(info.profile, (*PROFILES, FLOAT_IMU_NAME))
    profile = load_profile(info.profile_text, f"{base}.toml", settings, recorded=True)
    if profile.name != info.profile:
        raise ProfileError(
            f"{base}.toml", 1, f"this is the profile {profile.name}, and the sensor speaks {info.profile}"
        )
    return profile
