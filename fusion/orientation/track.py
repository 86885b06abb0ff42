"""One sensor through time: strapdown orientation, idle tilt, bias, and the last second of samples for finding rests."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fusion.orientation.bias import BiasFilter
from fusion.orientation.idle import IdleTilt
from fusion.orientation.strapdown import Strapdown
from fusion.rotation import Quat
from sensors.readings import ImuBlock

HISTORY_S = 1.5

Sample = tuple[float, Quat]
"""Session time and q_free_from_sensor."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """A stretch of raw samples of one sensor."""

    t_s: NDArray[np.float64]
    gyr_rad_s: NDArray[np.float64]
    acc_m_s2: NDArray[np.float64]
    q_free_from_sensor: NDArray[np.float64]
    """Shape (n, 4)."""


class SensorTrack:
    """Push blocks in; each gives its samples' free orientations."""

    def __init__(self, rate_hz: float) -> None:
        self._usual_s = 1.0 / rate_hz
        self._strapdown = Strapdown()
        self.idle = IdleTilt(rate_hz)
        self.bias = BiasFilter()
        self.saturated = False
        """The gyroscope was at the end of its range since `clear_faults`."""
        self.rate_rms_rad_s = 0.0
        """Root mean square rate over the newest block: a quick look before a rest is measured."""
        self._history: deque[tuple[ImuBlock, NDArray[np.float64]]] = deque()

    @property
    def broken(self) -> bool:
        """Samples were lost that cannot be bridged, since `clear_faults`."""
        return self._strapdown.broken

    def clear_faults(self) -> None:
        """A new rest makes what happened before irrelevant."""
        self._strapdown.broken = False
        self.saturated = False

    def restart(self) -> None:
        """The device began anew: nothing before it connects to what follows."""
        self._strapdown.restart()
        self._history.clear()

    def push(self, block: ImuBlock) -> list[Sample]:
        """Advance by one block."""
        self.saturated |= block.saturated
        rates = block.gyr_sensor_rad_s - self.bias.bias_rad_s
        self.rate_rms_rad_s = math.sqrt(float(np.einsum("ij,ij->", rates, rates)) / len(rates))
        self.idle.push(rates, block.acc_sensor_m_s2)
        step, usual_s = self._strapdown.push, self._usual_s
        quats = [
            step(device_s, (x, y, z), usual_s)
            for device_s, (x, y, z) in zip(block.device_s.tolist(), rates.tolist(), strict=True)
        ]
        self._history.append((block, np.array(quats)))
        while block.t_s[-1] - self._history[0][0].t_s[-1] > HISTORY_S:
            self._history.popleft()
        return list(zip(block.t_s.tolist(), quats, strict=True))

    def window(self, start_s: float, end_s: float) -> Window | None:
        """Collect whole blocks between two session times; None when they do not cover the stretch without a hole."""
        parts = [(block, q) for block, q in self._history if block.t_s[0] >= start_s and block.t_s[-1] <= end_s]
        if not parts:
            return None
        n = sum(len(q) for _, q in parts)
        first, last = parts[0][0], parts[-1][0]
        spacing_s = self._usual_s * len(first.t_s)
        if first.t_s[0] > start_s + 1.5 * spacing_s or last.t_s[-1] < end_s - 1.5 * spacing_s:
            return None
        if n * self._usual_s < 0.8 * (last.t_s[-1] - first.t_s[0]):
            return None
        return Window(
            t_s=np.concatenate([block.t_s for block, _ in parts]),
            gyr_rad_s=np.concatenate([block.gyr_sensor_rad_s for block, _ in parts]),
            acc_m_s2=np.concatenate([block.acc_sensor_m_s2 for block, _ in parts]),
            q_free_from_sensor=np.concatenate([q for _, q in parts]),
        )
