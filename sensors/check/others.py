"""Which other known kind of sensor a capture could be of, when it is not of the one it was checked against."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sensors.check.decoded import decode_all
from sensors.check.findings import MANY_UNREADABLE, MOST_RESTARTS
from sensors.events import RawPacket
from sensors.profiles.base import Profile

_ENOUGH = 200


def who_reads(packets: Sequence[RawPacket], profiles: Iterable[Profile]) -> list[Profile]:
    """Give those that read the first packets, at least one, without trouble."""
    first = packets[:_ENOUGH]
    found = []
    for profile in profiles:
        decoded = decode_all(profile, first)
        n_bad = len(decoded.problems) + decoded.n_ignored
        if decoded.n_samples and n_bad <= MANY_UNREADABLE * len(first) and decoded.n_restarts <= MOST_RESTARTS:
            found.append(profile)
    return found
