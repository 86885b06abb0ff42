"""Profile files of the person's own: a folder that is looked into by itself, and files or names given on the command line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import platformdirs

from sensors.errors import ProfileError, UnknownProfile
from sensors.profiles.base import Profile
from sensors.profiles.load import load_profile, parse_name
from sensors.profiles.registry import PROFILES

_LARGEST_BYTES = 256 * 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownProfiles:
    """Every profile a radio may use, those that come first winning where two would fit, and files that could not be read."""

    profiles: tuple[Profile, ...]
    problems: tuple[ProfileError, ...]


def profiles_folder() -> Path:
    """Give this user's own folder for profile files."""
    return Path(platformdirs.user_config_dir("pitchbend", appauthor=False)) / "sensors"


def read_profile(path: Path, settings: Mapping[str, float] | None = None) -> Profile:
    """Read a profile file, with `settings` in place of the device's own.

    Raises `ProfileError`, for a file that cannot be read as well.
    """
    try:
        with path.open("rb") as file:
            data = file.read(_LARGEST_BYTES + 1)
    except OSError as error:
        raise ProfileError(str(path), 0, f"the file cannot be read ({error.strerror or error})") from error
    if len(data) > _LARGEST_BYTES:
        raise ProfileError(str(path), 0, f"a profile is at most {_LARGEST_BYTES // 1024} kB, and this file is longer")
    try:
        text = data.decode("utf-8-sig")  # some editors put a mark before the first line
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise ProfileError(str(path), line, "this is not UTF-8 text") from error
    return load_profile(text.replace("\r\n", "\n"), str(path), settings)


def known_profiles(wanted: Sequence[str] = (), *, folder: Path | None = None) -> KnownProfiles:
    """Give the wanted profiles first, then those of the person's folder, then those this program brings along.

    `wanted` are files or names, which may carry settings, `open-imu-1@rate_hz=100`. A file of the folder that is wrong is told
    in `problems`; a wanted one raises `ProfileError`, or `UnknownProfile` for a name that nobody knows.
    """
    own: dict[str, Profile] = {}
    problems: list[ProfileError] = []
    for path in sorted((folder or profiles_folder()).glob("*.toml")):
        try:
            profile = read_profile(path)
        except ProfileError as error:
            problems.append(error)
            continue
        if profile.name in own:
            problems.append(ProfileError(str(path), 0, f'another file here has the name "{profile.name}" already'))
            continue
        own[profile.name] = profile
    shelf = {**PROFILES, **own}
    chosen = [_wanted(one, shelf) for one in wanted]
    taken = {parse_name(profile.name)[0] for profile in chosen}
    rest = [*own.values(), *(profile for name, profile in PROFILES.items() if name not in own)]
    return KnownProfiles(
        profiles=(*chosen, *(profile for profile in rest if profile.name not in taken)), problems=tuple(problems)
    )


def wanted_profile(wanted: str, *, folder: Path | None = None) -> Profile:
    """Give one profile by file or name; raises as `known_profiles` does."""
    return known_profiles((wanted,), folder=folder).profiles[0]


def _wanted(wanted: str, shelf: dict[str, Profile]) -> Profile:
    if wanted.endswith(".toml") or Path(wanted).is_file():
        return read_profile(Path(wanted))
    base, settings = parse_name(wanted)
    if settings is not None and base.endswith(".toml"):
        return read_profile(Path(base), settings)
    if base not in shelf or settings is None:
        raise UnknownProfile(wanted, tuple(shelf))
    return load_profile(shelf[base].text, f"{base}.toml", settings)
