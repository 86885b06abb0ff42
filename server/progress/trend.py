"""Whether a figure moves from day to day, and how fast: only where there are days enough to tell it from chance.

Rule 1: a day counts with its median of `ENOUGH_REPS` reps or more. Reps of one day have fit, mat and mood in common; a line
through them would call a good day a trend.
Rule 2: it takes `ENOUGH_DAYS` such days. Four can be put in order in 24 ways: the two that rise or fall throughout come about by
chance in one of twelve cases, so not even they reach 5 %. Of five days they are 2 in 120.

The slope is the median of the slopes between each two days (Theil 1950), its interval from the distribution of Kendall's S with
ties counted (Sen 1968, J Am Stat Assoc 63:1379-1389): a single bad day moves neither far.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from statistics import NormalDist, median
from typing import Final

from server.progress.sample import CONFIDENCE, ENOUGH_REPS

ENOUGH_DAYS: Final = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Slope:
    """Change in a unit of time, with its interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """`per_week` is in the drill's unit; None while there are not enough reps."""

    n_days: int
    """Days with reps enough."""
    per_week: Slope | None

    @property
    def missing_days(self) -> int:
        """So many more days with `ENOUGH_REPS` judged reps each are wanted."""
        return max(ENOUGH_DAYS - self.n_days, 0)

    @property
    def missing_reps(self) -> int:
        """At least so many reps more."""
        return self.missing_days * ENOUGH_REPS


def trend(days: Sequence[tuple[int, float]]) -> Trend:
    """Look at the days that count: each its number in the calendar and its median."""
    if len(days) < ENOUGH_DAYS:
        return Trend(n_days=len(days), per_week=None)
    per_day = theil_sen([float(day) for day, _ in days], [value for _, value in days])
    return Trend(n_days=len(days), per_week=Slope(value=7 * per_day.value, low=7 * per_day.low, high=7 * per_day.high))


def theil_sen(x: Sequence[float], y: Sequence[float], confidence: float = CONFIDENCE) -> Slope:
    """Give the slope of `y` over `x` with its interval. No two `x` alike; there are two or more."""
    slopes = sorted((y[j] - y[i]) / (x[j] - x[i]) for i, j in combinations(range(len(x)), 2))
    n = len(slopes)
    z = NormalDist().inv_cdf(0.5 + confidence / 2)
    half = z * math.sqrt(_variance_of_s(y))
    last = min(round((n + half) / 2), n - 1)
    first = max(round((n - half) / 2) - 1, 0)
    return Slope(value=median(slopes), low=slopes[first], high=slopes[last])


def _variance_of_s(y: Sequence[float]) -> float:
    def part(k: int) -> int:
        return k * (k - 1) * (2 * k + 5)

    ties = sum(part(k) for k in Counter(y).values() if k > 1)
    return (part(len(y)) - ties) / 18
