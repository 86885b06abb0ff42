"""Feeds the `still` and `attitude` moves of a practice to the calibration of one sensor."""

from __future__ import annotations

import numpy as np

from fusion.calibration.trim.collector import TrimCollector
from fusion.calibration.trim.result import TrimResult
from sensors.ids import Move
from sensors.readings import ImuBlock

_BRIDGED_S = 60.0
"""Turns are followed this long after an attitude, in case another comes."""


class Trimming:
    """One sensor. Push every block; `begin` and `end` a move."""

    def __init__(self, rate_hz: float) -> None:
        self._collector = TrimCollector(rate_hz=rate_hz)
        self._window: list[ImuBlock] | None = None
        self._start_s = -np.inf
        self._until_s = -np.inf

    def begin(self, start_s: float) -> None:
        """A `still` or `attitude` move begins."""
        self._window, self._start_s = [], start_s

    def push(self, block: ImuBlock) -> None:
        """Take in a block, raw."""
        if self._window is not None:
            self._window.append(block)
        elif block.t_s[-1] < self._until_s:
            self._collector.bridge(block.device_s, block.gyr_sensor_rad_s)

    def end(self, move: Move, end_s: float, *, taken: bool) -> TrimResult | None:
        """The move was over at `end_s`; the calibration, as far as it goes, if the move was good."""
        window, self._window = self._window, None
        if not window:
            return None
        t_s = np.concatenate([block.t_s for block in window])
        device_s = np.concatenate([block.device_s for block in window])
        gyr = np.concatenate([block.gyr_sensor_rad_s for block in window])
        acc = np.concatenate([block.acc_sensor_m_s2 for block in window])
        first, last = (int(i) for i in np.searchsorted(t_s, [self._start_s, end_s]))
        made = slice(first, last)
        if not taken or first == last:
            self._collector.bridge(device_s, gyr)
            return None
        self._collector.bridge(device_s[:first], gyr[:first])
        if move is Move.STILL:
            self._collector.add_still(gyr[made], acc[made], float(device_s[first]))
            self._collector.bridge(device_s[made], gyr[made])
        else:
            self._collector.add_hold(device_s[made], gyr[made], acc[made])
        self._collector.bridge(device_s[last:], gyr[last:])
        self._until_s = end_s + _BRIDGED_S
        return self._collector.solve()
