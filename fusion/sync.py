"""Whose clock is late: keeps the two sensors' session stamps together.

Arrival stamps give each sensor's clock but for its own least delay. A move of both sensors as one body shows the difference:
an instant of device time on each that truly was the same. Blows of the ball show it, too, and coarsely: they are only believed
where no such move was made and they tell of more than arrivals can be off by. All are kept in device time and looked up again,
so they outlive every later fit of the clocks.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from statistics import median
from typing import Final

from sensors.ids import Role

FEW: Final = 4
"""Fewer blows than this say nothing."""
FAR_S: Final = 0.008
"""The running median of four blows or more was within 4 ms of the truth on the independent model, arrivals within 2."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """The same instant on both devices' clocks, seconds."""

    forearm_device_s: float
    club_device_s: float


class Sync:
    """Anchors of one practice. `session_s` of a role maps its device time to session time, as its clock stands now."""

    def __init__(self) -> None:
        self._anchors: deque[tuple[Anchor, float]] = deque(maxlen=8)
        """With their standard deviations, seconds."""
        self._blows: deque[Anchor] = deque(maxlen=12)

    @property
    def locked(self) -> bool:
        """A move has shown it."""
        return bool(self._anchors)

    def add(self, anchor: Anchor, sd_s: float) -> None:
        """Take in what a move showed; the newest few count."""
        self._anchors.append((anchor, sd_s))

    def add_blow(self, anchor: Anchor) -> None:
        """Take in a blow that both sensors felt."""
        self._blows.append(anchor)

    def forget(self) -> None:
        """A device began its clock anew."""
        self._anchors.clear()
        self._blows.clear()

    def skew_s(self, session_s: Callable[[Role, float], float]) -> float:
        """How late the club's session stamps are against the forearm's, now; 0 with nothing that shows it."""

        def late_s(anchor: Anchor) -> float:
            return session_s(Role.CLUB, anchor.club_device_s) - session_s(Role.FOREARM, anchor.forearm_device_s)

        if self._anchors:
            weight = sum(sd_s**-2 for _, sd_s in self._anchors)
            return sum(sd_s**-2 * late_s(anchor) for anchor, sd_s in self._anchors) / weight
        if len(self._blows) < FEW:
            return 0.0
        shown_s = median(map(late_s, self._blows))
        return shown_s if abs(shown_s) > FAR_S else 0.0
