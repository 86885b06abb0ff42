"""The profiles this program knows, by name."""

from __future__ import annotations

from typing import Final

from sensors.errors import UnknownProfile
from sensors.profiles.base import Profile
from sensors.profiles.open_imu import OPEN_IMU

PROFILES: Final[dict[str, Profile]] = {OPEN_IMU.name: OPEN_IMU}


def profile_named(name: str) -> Profile:
    """Look a profile up; raises `UnknownProfile`."""
    try:
        return PROFILES[name]
    except KeyError:
        raise UnknownProfile(name, tuple(PROFILES)) from None
