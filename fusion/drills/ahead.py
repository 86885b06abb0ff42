"""Where a quantity will be in a moment: the straight line through its last samples, carried on.

A cue that reaches the ear `lead_s` late is begun so much early. The line is least squares over `REACH_S`: shorter follows a
turn sooner and takes a tremble for a trend, longer the other way about; `python -m tests.bench.bench_look_ahead` measures both.
"""

from __future__ import annotations

from collections import deque
from typing import Final

REACH_S: Final = 0.05
LONGEST_LEAD_S: Final = 0.2
"""Further ahead a swing is not a straight line."""


class LookAhead:
    """Takes one quantity's samples in order; a gap of more than `REACH_S` begins anew."""

    def __init__(self, lead_s: float) -> None:
        self._lead_s = min(max(lead_s, 0.0), LONGEST_LEAD_S)
        self._recent: deque[tuple[float, float]] = deque()

    def push(self, t_s: float, value: float) -> float:
        """Add a sample; give the value expected `lead_s` later, the sample itself while there are too few."""
        if not self._lead_s:
            return value
        recent = self._recent
        if recent and not t_s - recent[-1][0] <= REACH_S:
            recent.clear()
        recent.append((t_s, value))
        while t_s - recent[0][0] > REACH_S:
            recent.popleft()
        n = len(recent)
        if n < 3:
            return value
        mean_t = sum(t for t, _ in recent) / n
        mean_v = sum(v for _, v in recent) / n
        spread = sum((t - mean_t) ** 2 for t, _ in recent)
        slope = sum((t - mean_t) * (v - mean_v) for t, v in recent) / spread
        return mean_v + slope * (t_s + self._lead_s - mean_t)

    def forget(self) -> None:
        """What follows does not continue what was."""
        self._recent.clear()
