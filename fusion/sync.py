"""Whose clock is late: keeps the two sensors' session stamps together.

Arrival stamps give each sensor's clock but for its own least delay. A move of both sensors as one body shows the difference:
an instant of device time on each that truly was the same. Blows of the ball show it, too, and coarsely: they are only believed
where no such move was made and they tell of more than arrivals can be off by.

What such an instant tells is looked up again while the clocks are still fitted to its surroundings, as they get better with
what comes after it, and kept as it is from then on: a line of the last minutes says little of what lies far before it.
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
SETTLED_S: Final = 90.0
"""What an instant tells is kept as it is from so long after it: half of what a clock's line rests on."""

SessionTime = Callable[[Role, float], float]
"""Session time of a role's device time, as its clock stands now."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """The same instant on both devices' clocks, seconds."""

    forearm_device_s: float
    club_device_s: float


@dataclass(slots=True)
class _Shown:
    """An anchor, how much it counts, and what it tells."""

    anchor: Anchor
    weight: float = 1.0
    late_s: float = 0.0
    is_settled: bool = False

    def look(self, session_s: SessionTime, now_s: float) -> None:
        if self.is_settled:
            return
        forearm_s = session_s(Role.FOREARM, self.anchor.forearm_device_s)
        self.late_s = session_s(Role.CLUB, self.anchor.club_device_s) - forearm_s
        self.is_settled = now_s - forearm_s > SETTLED_S


class Sync:
    """Anchors of one practice."""

    def __init__(self) -> None:
        self._moves: deque[_Shown] = deque(maxlen=8)
        self._blows: deque[_Shown] = deque(maxlen=12)

    @property
    def is_shown(self) -> bool:
        """A move has shown it."""
        return bool(self._moves)

    def add(self, anchor: Anchor, sd_s: float) -> None:
        """Take in what a move showed; the newest few count."""
        self._moves.append(_Shown(anchor, sd_s**-2))

    def add_blow(self, anchor: Anchor) -> None:
        """Take in a blow that both sensors felt."""
        self._blows.append(_Shown(anchor))

    def forget(self) -> None:
        """A device began its clock anew."""
        self._moves.clear()
        self._blows.clear()

    def skew_s(self, session_s: SessionTime, now_s: float) -> float:
        """How late the club's session stamps are against the forearm's at session time `now_s`; 0 with nothing that shows it."""
        for shown in self._moves or self._blows:
            shown.look(session_s, now_s)
        if self._moves:
            return sum(shown.weight * shown.late_s for shown in self._moves) / sum(
                shown.weight for shown in self._moves
            )
        if len(self._blows) < FEW:
            return 0.0
        told_s = median(shown.late_s for shown in self._blows)
        return told_s if abs(told_s) > FAR_S else 0.0
