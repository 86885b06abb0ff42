"""Whose clock is late: keeps the two sensors' session stamps together.

Arrival stamps give each sensor's clock but for its own least delay. A move of both sensors as one body shows the difference:
an instant of device time on each that truly was the same. Anchors like this outlive every later fit of the clocks, as they
are kept in device time and looked up again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from sensors.ids import Role


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """The same instant on both devices' clocks, seconds."""

    forearm_device_s: float
    club_device_s: float
    sd_s: float


class Sync:
    """Anchors of one practice. `session_s` of a role maps its device time to session time, as its clock stands now."""

    def __init__(self) -> None:
        self._anchors: list[Anchor] = []

    def add(self, anchor: Anchor) -> None:
        """Take in an anchor; the newest few count."""
        self._anchors = [*self._anchors[-7:], anchor]

    def forget(self) -> None:
        """A device began its clock anew."""
        self._anchors.clear()

    def skew_s(self, session_s: Callable[[Role, float], float]) -> float:
        """How late the club's session stamps are against the forearm's, now; 0 with no anchor."""
        weight = total = 0.0
        for anchor in self._anchors:
            late_s = session_s(Role.CLUB, anchor.club_device_s) - session_s(Role.FOREARM, anchor.forearm_device_s)
            weight += anchor.sd_s**-2
            total += anchor.sd_s**-2 * late_s
        return total / weight if weight else 0.0
