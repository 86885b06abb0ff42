"""Tilt between swings by VQF (Laidig and Seel, Information Fusion 91, 2023), through the compiled `vqf` package.

Good over minutes of any motion, so the shaft's elevation can be shown while nobody stands to a ball. Its estimation of bias
*during motion* stays off: swings mislead it. Its heading is its own and is not used.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from vqf import VQF

from fusion.rotation import Quat

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
        self._kept: deque[tuple[Array, Array]] = deque()
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

    def at(self, times_s: Sequence[float]) -> Array:
        """Orientations at session times of the last `KEPT_S`, in order, shape (n, 4), scalar first."""
        self._settle()
        about: list[tuple[Array, Array]] = []
        for block in reversed(self._kept):
            about.append(block)
            if block[0][0] <= times_s[0]:
                break
        t_s, q = (np.concatenate(parts) for parts in zip(*reversed(about), strict=True))
        turned = np.einsum("ij,ij->i", q[1:], q[:-1]) < 0
        q = q * np.where(np.logical_xor.accumulate(np.concatenate([[False], turned])), -1.0, 1.0)[:, None]
        at = np.stack([np.interp(times_s, t_s, q[:, i]) for i in range(4)], axis=1)
        return np.asarray(at / np.linalg.norm(at, axis=1, keepdims=True))

    def push(self, t_s: Array, gyr_rad_s: Array, acc_m_s2: Array) -> None:
        """Take in a block, arrays of shape (n,) and (n, 3)."""
        self._waiting.append((t_s, gyr_rad_s, acc_m_s2))
        if len(self._waiting) >= _MOST_WAITING:
            self._settle()

    def _settle(self) -> None:
        if not self._waiting:
            return
        t_s, gyr_rad_s, acc_m_s2 = (np.concatenate(blocks) for blocks in zip(*self._waiting, strict=True))
        self._waiting.clear()
        turned = self._filter.updateBatch(gyr_rad_s, acc_m_s2)["quat6D"]
        self._newest = turned[-1]
        if self._keeps:
            self._kept.append((t_s, turned))
            while self._kept[0][0][-1] < t_s[-1] - KEPT_S:
                self._kept.popleft()

    def __getstate__(self) -> dict[str, Any]:
        return {**self.__dict__, "_filter": self._filter.state}

    def __setstate__(self, state: dict[str, Any]) -> None:
        self.__dict__.update(state)
        self._filter = _vqf(self._rate_hz)
        self._filter.state = state["_filter"]


def _vqf(rate_hz: float) -> VQF:
    return VQF(1.0 / rate_hz, motionBiasEstEnabled=False)
