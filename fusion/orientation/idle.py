"""Tilt between swings by VQF (Laidig and Seel, Information Fusion 91, 2023), through the compiled `vqf` package.

Good over minutes of any motion, so the shaft's elevation can be shown while nobody stands to a ball. Its estimation of bias
*during motion* stays off: swings mislead it. Its heading is its own and is not used.
"""

from __future__ import annotations

import bisect
from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from vqf import VQF

from fusion.rotation import Quat, normalised

Array = NDArray[np.float64]

KEPT_S: Final = 2.5
"""More than what waits for the other sensor."""

_MOST_WAITING: Final = 20


class IdleTilt:
    """VQF of one sensor at its nominal rate; holes are stepped over, the accelerometer pulls the tilt back in seconds.

    Can be pickled: what is saved is the compiled filter's whole state, and a restored one goes on to the last bit.
    """

    def __init__(self, rate_hz: float, *, keeps: bool = False) -> None:
        """With `keeps` the orientation of each of the newest samples can be asked for."""
        self._rate_hz = rate_hz
        self._keeps = keeps
        self._kept_s: list[float] = []
        self._kept: list[list[float]] = []
        """Orientations at these session times."""
        self._filter = _vqf(rate_hz)
        self._newest: NDArray[np.float64] = np.array([1.0, 0.0, 0.0, 0.0])
        self._waiting: list[tuple[Array, Array, Array]] = []
        """Blocks that the filter has not had yet: it takes many at once in half the time, and in a swing nobody asks."""

    @property
    def q_earth_from_sensor(self) -> Quat:
        """Orientation at the sample pushed last, in an earth with z up."""
        self._settle()
        w, x, y, z = self._newest.tolist()
        return (w, x, y, z)

    def at(self, times_s: Sequence[float]) -> list[Quat]:
        """Orientations at session times of the last `KEPT_S`: between two samples on the straight line, a few at a time."""
        self._settle()
        kept_s, quats = self._kept_s, self._kept
        out: list[Quat] = []
        for t_s in times_s:
            i = bisect.bisect_right(kept_s, t_s) - 1
            w, x, y, z = quats[max(i, 0)]
            if 0 <= i < len(kept_s) - 1:
                past_s, step_s = t_s - kept_s[i], kept_s[i + 1] - kept_s[i]
                a, b, c, d = quats[i + 1]
                if w * a + x * b + y * c + z * d < 0:
                    a, b, c, d = -a, -b, -c, -d
                w, x = (a - w) / step_s * past_s + w, (b - x) / step_s * past_s + x
                y, z = (c - y) / step_s * past_s + y, (d - z) / step_s * past_s + z
            out.append(normalised((w, x, y, z)))
        return out

    def push(self, t_s: Array, gyr_rad_s: Array, acc_m_s2: Array) -> None:
        """Take in a block, arrays of shape (n,) and (n, 3)."""
        self._waiting.append((t_s, gyr_rad_s, acc_m_s2))
        if len(self._waiting) >= _MOST_WAITING:
            self._settle()

    def _settle(self) -> None:
        if not self._waiting:
            return
        several = len(self._waiting) > 1
        t_s, gyr_rad_s, acc_m_s2 = (
            map(np.concatenate, zip(*self._waiting, strict=True)) if several else self._waiting[0]
        )
        self._waiting.clear()
        turned = self._filter.updateBatch(np.ascontiguousarray(gyr_rad_s), np.ascontiguousarray(acc_m_s2))["quat6D"]
        self._newest = turned[-1]
        if self._keeps:
            if self._kept_s and self._kept_s[0] < t_s[-1] - 2 * KEPT_S:
                gone = bisect.bisect_left(self._kept_s, t_s[-1] - KEPT_S)
                del self._kept_s[:gone], self._kept[:gone]
            self._kept_s += t_s.tolist()
            self._kept += turned.tolist()

    def __getstate__(self) -> dict[str, Any]:
        return {**self.__dict__, "_filter": self._filter.state}

    def __setstate__(self, state: dict[str, Any]) -> None:
        self.__dict__.update(state)
        self._filter = _vqf(self._rate_hz)
        self._filter.state = state["_filter"]


def _vqf(rate_hz: float) -> VQF:
    return VQF(1.0 / rate_hz, motionBiasEstEnabled=False)
