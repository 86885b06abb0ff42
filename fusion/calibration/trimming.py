"""Feeds the `still` and `attitude` moves of a practice to the calibration of one sensor."""

from __future__ import annotations

from collections.abc import Sequence

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
        self._until_s = -np.inf

    def begin(self) -> None:
        """A `still` or `attitude` move begins."""
        self._window = []

    def push(self, block: ImuBlock) -> None:
        """Take in a block, raw."""
        if self._window is not None:
            self._window.append(block)
        elif block.t_s[-1] < self._until_s:
            self._collector.bridge(block.device_s, block.gyr_sensor_rad_s)

    def end(self, move: Move, *, taken: bool) -> TrimResult | None:
        """The move is over; the calibration, as far as it goes, if the move was good."""
        window, self._window = self._window, None
        if not window or not taken:
            self._bridge(window or ())
            return None
        device_s = np.concatenate([block.device_s for block in window])
        gyr = np.concatenate([block.gyr_sensor_rad_s for block in window])
        acc = np.concatenate([block.acc_sensor_m_s2 for block in window])
        if move is Move.STILL:
            self._collector.add_still(gyr, acc, float(device_s[0]))
            self._bridge(window)
        else:
            self._collector.add_hold(device_s, gyr, acc)
        self._until_s = float(window[-1].t_s[-1]) + _BRIDGED_S
        return self._collector.solve()

    def _bridge(self, window: Sequence[ImuBlock]) -> None:
        for block in window:
            self._collector.bridge(block.device_s, block.gyr_sensor_rad_s)
