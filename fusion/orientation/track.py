"""One sensor through time: strapdown orientation, idle tilt, bias, and the last second of samples for finding rests."""

from __future__ import annotations

import numpy as np

from fusion.orientation.bias import BiasFilter
from fusion.orientation.history import History
from fusion.orientation.idle import IdleTilt
from fusion.orientation.strapdown import Strapdown
from fusion.orientation.window import Array, Stretch, Window
from fusion.rotation import IDENTITY, Quat, Vec, mul, rotate, shortest
from sensors.readings import ImuBlock
from sensors.trim import UNTRIMMED, Trim

HISTORY_S = 2.0
BIAS_IN_FORCE_AFTER_S = 0.25
"""A bias learnt at a rest's end counts from so long after it: more than a packet holds, so where packets end does not matter."""

_HOLE_SAMPLES = 6
"""More missing in a row than this is a hole."""

Sample = tuple[float, Quat, float]
"""Session time, q_free_from_sensor, and the size of the specific force, m/s^2."""


class SensorTrack:
    """Push blocks in; each gives its samples' free orientations."""

    def __init__(self, rate_hz: float, *, keeps_idle: bool = False) -> None:
        self._usual_s = 1.0 / rate_hz
        self._strapdown = Strapdown()
        self.idle = IdleTilt(rate_hz, keeps=keeps_idle)
        self.bias = BiasFilter()
        self.saturated_s = float("-inf")
        """Session time when the gyroscope was last at the end of its range."""
        self.broken_s = float("-inf")
        """Session time after the last hole that cannot be bridged."""
        self.trim = UNTRIMMED
        self._in_force_rad_s = np.zeros(3)
        self._due: tuple[float, Array] | None = None
        """From when on which bias counts."""
        self._n_breaks_seen = 0
        self._turn_rad = np.zeros(3)
        self._level: Quat = IDENTITY
        """Free earth to an earth with z up, kept so that its heading runs on from one rest to the next."""
        self._history = History(HISTORY_S, _HOLE_SAMPLES * self._usual_s)
        self._newest: tuple[ImuBlock, Array, Array, Array, list[Quat], Array] | None = None
        """The last block, its trimmed rates and forces, rates without bias, orientations, and the turn before it."""

    @property
    def usual_s(self) -> float:
        """Nominal spacing of samples."""
        return self._usual_s

    @property
    def n_breaks(self) -> int:
        """How often samples were lost that cannot be bridged."""
        return self._strapdown.n_breaks

    def use(self, trim: Trim, offset_sd_rad_s: float) -> None:
        """Take a calibration of the sensor into force; its gyroscope's offset may have wandered by `offset_sd_rad_s`."""
        self.trim = trim
        self.bias = BiasFilter(offset_sd_rad_s)
        self._in_force_rad_s, self._due = np.zeros(3), None
        self._history.clear()

    def levelled(self, up_free: Vec) -> Quat:
        """Free earth to an earth with z up, from the free direction of up in a rest; its heading runs on between rests."""
        self._level = mul(shortest(rotate(self._level, up_free), (0.0, 0.0, 1.0)), self._level)
        return self._level

    @property
    def newest(self) -> Window:
        """The block pushed last."""
        if self._newest is None:
            raise ValueError("no block has been pushed")
        block, gyr, acc, rates, quats, turned = self._newest
        return Window(
            t_s=block.t_s, device_s=block.device_s, gyr_rad_s=gyr, acc_m_s2=acc, q_free_from_sensor=np.array(quats),
            turn_rad=turned + np.cumsum(rates, axis=0) * self._usual_s,
        )  # fmt: skip

    def restart(self) -> None:
        """The device began anew: nothing before it connects to what follows."""
        self._strapdown.restart()
        self._history.clear()

    def push(self, block: ImuBlock) -> list[Sample]:
        """Advance by one block."""
        if block.saturated:
            self.saturated_s = float(block.t_s[-1])
        gyr, acc = block.gyr_sensor_rad_s, block.acc_sensor_m_s2
        if self.trim is not UNTRIMMED:
            gyr, acc = self.trim.gyr(gyr), self.trim.acc(acc)
        rates = gyr - self._bias_at(block.t_s)
        self.idle.push(block.t_s, rates, acc)
        quats = self._strapdown.run(block.device_s.tolist(), rates.tolist(), self._usual_s)
        if self.n_breaks > self._n_breaks_seen:
            self._n_breaks_seen = self.n_breaks
            self.broken_s = float(block.t_s[0])
        self._newest = (block, gyr, acc, rates, quats, self._turn_rad)
        self._turn_rad = self._turn_rad + np.add.reduce(rates) * self._usual_s
        self._history.push(block.t_s, gyr, acc, quats)
        return list(zip(block.t_s.tolist(), quats, np.sqrt(np.vecdot(acc, acc)).tolist(), strict=True))

    def _bias_at(self, t_s: Array) -> Array:
        """Bias in force at each of a block's samples, shape (3,) or (n, 3)."""
        if self._due is None:
            return self._in_force_rad_s
        due_s, fresh = self._due
        if t_s[-1] < due_s:
            return self._in_force_rad_s
        biases = np.where((t_s >= due_s)[:, None], fresh, self._in_force_rad_s)
        self._in_force_rad_s, self._due = fresh, None
        return biases

    def learn(self, t_s: float, mean_rate_rad_s: Array, spread_rad_s: float) -> None:
        """Take in the mean rate of a rest that ended at `t_s`: `BiasFilter.rest`."""
        if self.bias.rest(t_s, mean_rate_rad_s, spread_rad_s):
            self._due = (t_s + BIAS_IN_FORCE_AFTER_S, self.bias.bias_rad_s)

    def window(self, start_s: float, end_s: float) -> Stretch | None:
        """Samples between two session times; None when they do not cover the stretch without a hole.

        Good until the next block.
        """
        window = self._history.between(start_s, end_s)
        if window is None or window.t_s[0] > start_s + self._usual_s or window.t_s[-1] < end_s - self._usual_s:
            return None
        return window

    def recent(self, length_s: float, end_s: float) -> Stretch | None:
        """At most `length_s` of samples up to `end_s`, no further back than the last hole; None if there are none.

        Good until the next block.
        """
        return self._history.between(end_s - length_s, end_s)
