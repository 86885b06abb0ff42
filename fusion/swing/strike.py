"""Was a ball hit? A blow shakes both sensors for some milliseconds; what a swing does of itself is smooth.

What counts is the greatest second difference of the size of specific force about impact. In two simulations of 200 Hz sensors
(`sensors/virtual` and the physics engine of the truth suite) swings that met nothing left up to 4 m/s2 on the forearm and 22 on
the club, whose sensor clips there; blows 15 or more on the one or 27 on the other. Not tried on people.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from itertools import pairwise
from statistics import median
from typing import Final

from fusion.measure import Instant

FOREARM_M_S2: Final = 10.0
CLUB_M_S2: Final = 25.0
"""A second difference of this size is a blow."""
_FROM_S, _TO_S = -0.015, 0.030
_OWN_SHARE: Final = 0.4
"""A blow is at least this large a part of the player's usual one: a club sensor at the end of its range jumps without one."""
_KNOWN_AFTER: Final = 2
"""So many blows show that these sensors, worn like this, feel them."""
_SLOW: Final = 1.6
_SLOWEST_S: Final = 0.52
"""A downswing this many times as long as the player's own, longer than a slow student's, and nothing hit, is a rehearsal."""


def blow(instants: Sequence[Instant], impact_s: float) -> float | None:
    """Size of the blow about `impact_s`, 1 being just felt; None when forces are not at hand there."""
    about = [i for i in instants if _FROM_S <= i.t_s - impact_s <= _TO_S]
    forearm = _jump([i.forearm_force_m_s2 for i in about])
    club = _jump([i.club_force_m_s2 for i in about])
    return None if forearm is None or club is None else max(forearm / FOREARM_M_S2, club / CLUB_M_S2)


def _jump(forces_m_s2: Sequence[float | None]) -> float | None:
    """Greatest second difference; None when there are too few or one is missing."""
    known = [force for force in forces_m_s2 if force is not None]
    if len(known) < len(forces_m_s2) or len(known) < 3:
        return None
    steps = [b - a for a, b in pairwise(known)]
    return max(abs(b - a) for a, b in pairwise(steps))


class StrikeMemory:
    """What a practice has shown of blows; one for all its swings."""

    def __init__(self) -> None:
        self._downswings_s: deque[float] = deque(maxlen=10)
        """Of the last swings with a blow."""
        self._sizes: deque[float] = deque(maxlen=10)
        """Of the last blows."""

    @property
    def feels(self) -> bool:
        """The sensors have felt blows before, so that the lack of one tells something."""
        return len(self._downswings_s) >= _KNOWN_AFTER

    def felt(self, size: float | None, downswing_s: float) -> bool:
        """Take in a swing with a blow of this size; True when it was felt."""
        if size is None or size < (max(1.0, _OWN_SHARE * median(self._sizes)) if self.feels else 1.0):
            return False
        self._downswings_s.append(downswing_s)
        self._sizes.append(size)
        return True

    def too_slow(self, downswing_s: float) -> bool:
        """Far slower than this player hits the ball."""
        return self.feels and downswing_s > max(_SLOWEST_S, _SLOW * median(self._downswings_s))
