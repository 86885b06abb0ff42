"""Which of several sensors is being moved, for a person who wants to know which is which. Pure: samples in, levels out."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Mapping
from typing import Final

import numpy as np

from sensors.ids import SensorId
from sensors.readings import ImuBlock

WINDOW_S: Final = 0.5
"""Long enough for half a shake of the hand, short enough to feel immediate."""
STALE_NS: Final = 700_000_000
"""A sensor that has said nothing for so long is not known to move."""
MOVING_RAD_S: Final = math.radians(40.0)
"""Turning this fast is no bias (a few deg/s) and no table that is leant on, but a hand: measured on nothing, chosen for that."""
STILL_MOVING_RAD_S: Final = math.radians(25.0)
"""The one that moves goes on being it down to this, so that it does not flicker between two strokes."""
AHEAD: Final = 2.0
"""It must turn this many times as fast as the next, or two are being carried."""


class ActivityMeter:
    """How fast one sensor has been turning of late: root mean square of its rate over the last half second."""

    def __init__(self) -> None:
        self._parts: deque[tuple[float, int, float]] = deque()
        """Device time at the end of a block, its samples, the sum of their squared rates."""
        self._newest_ns: int | None = None

    def push(self, block: ImuBlock) -> None:
        """Take in a block of samples."""
        end_s = float(block.device_s[-1])
        if self._parts and end_s < self._parts[-1][0]:
            self._parts.clear()  # the device began anew
        squares = float(np.square(block.gyr_sensor_rad_s).sum())
        self._parts.append((end_s, len(block.device_s), squares))
        while self._parts[0][0] <= end_s - WINDOW_S:
            self._parts.popleft()
        self._newest_ns = block.arrival_ns

    def level_rad_s(self, now_ns: int) -> float:
        """Give the level at host time `now_ns`; 0 for one that has fallen silent."""
        if self._newest_ns is None or now_ns - self._newest_ns > STALE_NS:
            return 0.0
        return math.sqrt(sum(part[2] for part in self._parts) / sum(part[1] for part in self._parts))


def mover(levels_rad_s: Mapping[SensorId, float], before: SensorId | None = None) -> SensorId | None:
    """Give the one sensor that is being moved, or None while none is, or more than one. `before` is the last answer."""
    if not levels_rad_s:
        return None
    ordered = sorted(levels_rad_s, key=lambda sensor: -levels_rad_s[sensor])
    first = ordered[0]
    needed = STILL_MOVING_RAD_S if first == before else MOVING_RAD_S
    if levels_rad_s[first] < needed:
        return None
    if len(ordered) > 1 and levels_rad_s[first] < AHEAD * levels_rad_s[ordered[1]]:
        return None
    return first
