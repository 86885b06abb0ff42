"""The worst stretches of a practice: when samples were lost or none came, and for how long."""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from typing import Final

WAIT_S: Final = 0.4
"""A wait for the next packet longer than this counts, whether or not something was lost."""
_MERGE_S: Final = 2.0
"""Troubles nearer to each other than this are one stretch."""
KEPT: Final = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """From the last packet before the trouble to the first one after it, on the session clock."""

    start_s: float
    end_s: float
    n_lost: int
    longest_wait_s: float

    @property
    def badness(self) -> tuple[int, float]:
        """Lost samples count most, then silence."""
        return self.n_lost, self.longest_wait_s


class Stretches:
    """Keeps the five worst."""

    def __init__(self) -> None:
        self._open: Stretch | None = None
        self._worst: list[tuple[tuple[int, float], float, Stretch]] = []

    def note(self, start_s: float, end_s: float, n_lost: int) -> None:
        """Take in the wait between two packets, and how many samples were lost in it."""
        wait_s = end_s - start_s
        if not n_lost and wait_s < WAIT_S:
            return
        new = Stretch(start_s=start_s, end_s=end_s, n_lost=n_lost, longest_wait_s=wait_s)
        if self._open is None:
            self._open = new
        elif start_s - self._open.end_s < _MERGE_S:
            self._open = Stretch(
                start_s=self._open.start_s,
                end_s=end_s,
                n_lost=self._open.n_lost + n_lost,
                longest_wait_s=max(self._open.longest_wait_s, wait_s),
            )
        else:
            self._keep(self._open)
            self._open = new

    def worst(self) -> tuple[Stretch, ...]:
        """Give the worst first."""
        found = [stretch for _, _, stretch in self._worst]
        if self._open is not None:
            found.append(self._open)
        return tuple(sorted(found, key=lambda stretch: (stretch.badness, -stretch.start_s), reverse=True)[:KEPT])

    def _keep(self, stretch: Stretch) -> None:
        heapq.heappush(self._worst, (stretch.badness, -stretch.start_s, stretch))
        if len(self._worst) > KEPT:
            heapq.heappop(self._worst)
