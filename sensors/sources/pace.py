"""When an event of a recording is due: on one straight line from where playing began, so that waiting errors never add up."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

_FORGIVEN_S: Final = 1.0
"""Later than this (the lid was closed, the speed is out of reach), the lost time is let go instead of rushed after."""


class Pace:
    """`start` it at each change; `clock_s` stands in for time in tests."""

    def __init__(self, clock_s: Callable[[], float]) -> None:
        self._clock_s = clock_s
        self._speed = 0.0
        self._from_ns = 0
        self._from_s = 0.0

    def start(self, at_ns: int, speed: float) -> None:
        """Recorded time runs on from there, so fast; 0: as fast as can be."""
        self._from_ns, self._speed, self._from_s = at_ns, speed, self._clock_s()

    def wait_s(self, arrival_ns: int) -> float:
        """How long until an event is due; 0 for now."""
        if self._speed <= 0.0:
            return 0.0
        wait_s = self._from_s + (arrival_ns - self._from_ns) * 1e-9 / self._speed - self._clock_s()
        if wait_s < -_FORGIVEN_S:
            self._from_s -= wait_s
        return max(0.0, wait_s)

    def at_ns(self, at_least_ns: int, at_most_ns: int) -> int:
        """Recorded time now, between two events."""
        if self._speed <= 0.0:
            return at_least_ns
        now_ns = self._from_ns + round((self._clock_s() - self._from_s) * self._speed * 1e9)
        return min(max(now_ns, at_least_ns), at_most_ns)
