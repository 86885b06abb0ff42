"""A stretch of one sensor's samples."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

INSTANT_S = 1e-9
"""Times nearer to each other than this are the same: rounding decides nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Samples of one sensor, trimmed, gyroscope bias still in: what a rest is measured from."""

    t_s: Array
    gyr_rad_s: Array
    acc_m_s2: Array
    q_free_from_sensor: Array
    """Shape (n, 4)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Window(Stretch):
    """The same with what a fit move needs beside."""

    device_s: Array
    turn_rad: Array
    """Angular rate, free of bias, summed over time since the start, in sensor axes, shape (n, 3): its component along an axis
    is the turn about that axis of the body."""

    def part(self, start_s: float, end_s: float) -> Window:
        """Samples from `start_s` to `end_s`, both included."""
        times = self.t_s
        if times[0] >= start_s and times[-1] <= end_s:
            return self
        first = int(times.searchsorted(start_s - INSTANT_S))
        last = int(times.searchsorted(end_s + INSTANT_S))
        here = slice(first, last)
        return Window(
            t_s=self.t_s[here], device_s=self.device_s[here], gyr_rad_s=self.gyr_rad_s[here], acc_m_s2=self.acc_m_s2[here],
            q_free_from_sensor=self.q_free_from_sensor[here], turn_rad=self.turn_rad[here],
        )  # fmt: skip

    @staticmethod
    def joined(parts: Sequence[Window]) -> Window:
        """Put stretches that follow each other into one."""
        return Window(
            t_s=np.concatenate([part.t_s for part in parts]),
            device_s=np.concatenate([part.device_s for part in parts]),
            gyr_rad_s=np.concatenate([part.gyr_rad_s for part in parts]),
            acc_m_s2=np.concatenate([part.acc_m_s2 for part in parts]),
            q_free_from_sensor=np.concatenate([part.q_free_from_sensor for part in parts]),
            turn_rad=np.concatenate([part.turn_rad for part in parts]),
        )
