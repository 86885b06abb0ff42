"""Some reps in figures: the share in the band with its interval, the median, and the spread.

Wilson, E. B. (1927), Probable inference, the law of succession, and statistical inference, J Am Stat Assoc 22:209-212: unlike
the textbook's interval it stays between 0 and 1, and is not of width nought when all of few reps were in the band.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist, median, quantiles
from typing import Final

from server.progress.points import RepPoint

CONFIDENCE: Final = 0.95
ENOUGH_REPS: Final = 6
"""The fewest reps whose range holds the true median with 95 % confidence: 1 - 2 / 2^6 = 0.969, and of five only 0.9375.
With fewer a day's median is no figure to build on, and its spread none at all.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A share and where it may truly lie, each from 0 to 1."""

    share: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """Some reps. Those whose angles could not be trusted are only counted."""

    n_reps: int
    n_judged: int
    n_in_band: int
    share: Interval | None
    """None when none was judged."""
    median: float | None
    quartiles: tuple[float, float] | None
    """None when there are not enough reps."""

    @property
    def n_missing(self) -> int:
        """So many judged reps more would be enough."""
        return max(ENOUGH_REPS - self.n_judged, 0)


def sample(points: Sequence[RepPoint]) -> Sample:
    """Put reps of one drill in figures."""
    judged = [point for point in points if point.judged]
    n_in_band = sum(point.in_band for point in judged)
    values = [point.worst for point in judged if point.worst is not None]
    return Sample(
        n_reps=len(points),
        n_judged=len(judged),
        n_in_band=n_in_band,
        share=wilson(n_in_band, len(judged)) if judged else None,
        median=median(values) if values else None,
        quartiles=_quartiles(values) if len(values) >= ENOUGH_REPS else None,
    )


def wilson(n_in: int, n: int, confidence: float = CONFIDENCE) -> Interval:
    """Give a share with its score interval. Raises `ValueError` for none of none."""
    if not 0 <= n_in <= n or n == 0:
        raise ValueError(f"{n_in} of {n} is no share")
    z = NormalDist().inv_cdf(0.5 + confidence / 2)
    p = n_in / n
    centre = p + z * z / (2 * n)
    half = z * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    scale = 1 + z * z / n
    low = 0.0 if n_in == 0 else (centre - half) / scale
    high = 1.0 if n_in == n else (centre + half) / scale
    return Interval(share=p, low=low, high=high)


def _quartiles(values: Sequence[float]) -> tuple[float, float]:
    low, _, high = quantiles(values, n=4, method="inclusive")
    return low, high
