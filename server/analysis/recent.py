"""The newest instants of a practice: enough to look back over a swing once its rep has come to its last form."""

from __future__ import annotations

from collections import deque
from typing import Final

from fusion.outputs.instant import Moment

KEPT_S: Final = 30.0
"""A swing is refined seconds after it began; what is older than this is not asked for any more."""


class RecentMoments:
    """Memory does not grow with the practice."""

    def __init__(self) -> None:
        self._moments: deque[Moment] = deque()

    def add(self, moments: tuple[Moment, ...]) -> None:
        """Take in the instants that a packet completed."""
        self._moments.extend(moments)
        while self._moments and self._moments[0].t_s < self._moments[-1].t_s - KEPT_S:
            self._moments.popleft()

    def between(self, start_s: float, end_s: float) -> tuple[Moment, ...]:
        """Those from one session time to another, both included, as far as they are kept."""
        return tuple(one for one in self._moments if start_s <= one.t_s <= end_s)
