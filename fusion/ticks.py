"""A grid in session time on which the program looks up: what it decides must not depend on where packets end."""

from __future__ import annotations

import bisect
import math
from collections.abc import Iterator
from typing import Final

from fusion.pairing import Pair

TICK_S: Final = 0.05
_OFF_S: Final = 0.0017
"""The grid lies between samples taken at round times, so that rounding does not move one across."""


def tick_of(t_s: float) -> int:
    """Number of the tick that an instant lies in."""
    return math.floor((t_s - _OFF_S) / TICK_S)


def tick_end_s(tick: int) -> float:
    """When the tick after this one begins."""
    return (tick + 1) * TICK_S + _OFF_S


def by_tick(pairs: list[Pair]) -> Iterator[tuple[int, list[Pair]]]:
    """Instants in order, cut wherever a tick begins."""
    start, last = 0, tick_of(pairs[-1][0]) if pairs else 0
    while start < len(pairs):
        tick = tick_of(pairs[start][0])
        end = len(pairs) if tick == last else bisect.bisect_right(pairs, tick, lo=start, key=_tick_of_pair)
        yield tick, pairs[start:end]
        start = end


def _tick_of_pair(pair: Pair) -> int:
    return tick_of(pair[0])
