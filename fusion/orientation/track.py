"""One sensor through time: strapdown orientation, idle tilt, bias, and the last second of samples for finding rests."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fusion.orientation.bias import BiasFilter
from fusion.orientation.idle import IdleTilt
from fusion.orientation.strapdown import Strapdown
from fusion.rotation import IDENTITY, Quat, Vec, mul, rotate, shortest
from sensors.readings import ImuBlock
from sensors.trim import UNTRIMMED, Trim

HISTORY_S = 1.5

Sample = tuple[float, Quat, float]
"""Session time, q_free_from_sensor, and the size of the specific force, m/s^2."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """A stretch of samples of one sensor, trimmed, gyroscope bias still in."""

    t_s: NDArray[np.float64]
    device_s: NDArray[np.float64]
    gyr_rad_s: NDArray[np.float64]
    acc_m_s2: NDArray[np.float64]
    q_free_from_sensor: NDArray[np.float64]
    """Shape (n, 4)."""
    turn_rad: NDArray[np.float64]
    """Angular rate, free of bias, summed over time since the start, in sensor axes, shape (n, 3): its component along an axis
    is the turn about that axis of the body."""

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
        self.trim = UNTRIMMED
        self._turn_rad = np.zeros(3)
        self._level: Quat = IDENTITY
        """Free earth to an earth with z up, kept so that its heading runs on from one rest to the next."""
        self._history: deque[Window] = deque()

    @property
    def usual_s(self) -> float:
        """Nominal spacing of samples."""
        return self._usual_s

    @property
    def broken(self) -> bool:
        """Samples were lost that cannot be bridged, since `clear_faults`."""
        return self._strapdown.broken

    @property
    def n_breaks(self) -> int:
        """How often samples were lost that cannot be bridged."""
        return self._strapdown.n_breaks

    def use(self, trim: Trim, offset_sd_rad_s: float) -> None:
        """Take a calibration of the sensor into force; its gyroscope's offset may have wandered by `offset_sd_rad_s`."""
        self.trim = trim
        self.bias = BiasFilter(offset_sd_rad_s)
        self._history.clear()

    def levelled(self, up_free: Vec) -> Quat:
        """Free earth to an earth with z up, from the free direction of up in a rest; its heading runs on between rests."""
        return mul(shortest(rotate(self._level, up_free), (0.0, 0.0, 1.0)), self._level)

    def level(self, up_free: Vec) -> Quat:
        """The same, and go on from there."""
        self._level = self.levelled(up_free)
        return self._level

    @property
    def newest(self) -> Window:
        """The block pushed last."""
        return self._history[-1]

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
        gyr, acc = block.gyr_sensor_rad_s, block.acc_sensor_m_s2
        if self.trim is not UNTRIMMED:
            gyr, acc = self.trim.gyr(gyr), self.trim.acc(acc)
        rates = gyr - self.bias.bias_rad_s
        self.rate_rms_rad_s = math.sqrt(float(np.einsum("ij,ij->", rates, rates)) / len(rates))
        self.idle.push(rates, acc)
        step, usual_s = self._strapdown.push, self._usual_s
        quats = [
            step(device_s, (x, y, z), usual_s)
            for device_s, (x, y, z) in zip(block.device_s.tolist(), rates.tolist(), strict=True)
        ]
        turn = self._turn_rad + np.cumsum(rates, axis=0) * self._usual_s
        self._turn_rad = turn[-1]
        self._history.append(
            Window(
                t_s=block.t_s, device_s=block.device_s, gyr_rad_s=gyr, acc_m_s2=acc,
                q_free_from_sensor=np.array(quats), turn_rad=turn,
            )
        )  # fmt: skip
        while block.t_s[-1] - self._history[0].t_s[-1] > HISTORY_S:
            self._history.popleft()
        return list(zip(block.t_s.tolist(), quats, np.sqrt(np.einsum("ij,ij->i", acc, acc)).tolist(), strict=True))

    def window(self, start_s: float, end_s: float) -> Window | None:
        """Collect whole blocks between two session times; None when they do not cover the stretch without a hole."""
        parts = [part for part in self._history if part.t_s[0] >= start_s and part.t_s[-1] <= end_s]
        if not parts:
            return None
        n = sum(len(part.t_s) for part in parts)
        first, last = parts[0], parts[-1]
        spacing_s = self._usual_s * len(first.t_s)
        if first.t_s[0] > start_s + 1.5 * spacing_s or last.t_s[-1] < end_s - 1.5 * spacing_s:
            return None
        if n * self._usual_s < 0.8 * (last.t_s[-1] - first.t_s[0]):
            return None
        return Window.joined(parts)
