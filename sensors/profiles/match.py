"""Which profile a sensor in the air speaks, by what it advertises."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fnmatch import fnmatchcase

from sensors.profiles.base import Profile


def heard_profile(profiles: Sequence[Profile], service_uuids: Iterable[str], name: str) -> Profile | None:
    """Give the first profile that one of the services gives away, or else the first whose name pattern fits; None for neither."""
    heard = {uuid.lower() for uuid in service_uuids}
    by_service = (profile for profile in profiles if not heard.isdisjoint(profile.advertised_uuids))
    by_name = (profile for profile in profiles if any(fnmatchcase(name, pattern) for pattern in profile.name_patterns))
    return next(by_service, None) or next(by_name, None)


def service_filter(profiles: Sequence[Profile]) -> list[str] | None:
    """Give the services to scan for; None to hear everything, as a name cannot be filtered for by the radio."""
    if any(profile.name_patterns for profile in profiles):
        return None
    return sorted({uuid for profile in profiles for uuid in profile.advertised_uuids})
