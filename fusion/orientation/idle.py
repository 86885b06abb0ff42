"""Tilt between swings by VQF (Laidig and Seel, Information Fusion 91, 2023), through the compiled `vqf` package.

Good over minutes of any motion, so the shaft's elevation can be shown while nobody stands to a ball. Its estimation of bias
*during motion* stays off: swings mislead it. Its heading is its own and is not used.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from vqf import VQF

from fusion.rotation import Quat

_MOST_WAITING: Final = 20


class IdleTilt:
    """VQF of one sensor at its nominal rate; holes are stepped over, the accelerometer pulls the tilt back in seconds.

    Can be pickled: what is saved is the compiled filter's whole state, and a restored one goes on to the last bit.
    """

    def __init__(self, rate_hz: float) -> None:
        self._rate_hz = rate_hz
        self._filter = _vqf(rate_hz)
        self._newest: NDArray[np.float64] = np.array([1.0, 0.0, 0.0, 0.0])
        self._waiting: list[tuple[NDArray[np.float64], NDArray[np.float64]]] = []
        """Blocks that the filter has not had yet: it takes many at once in half the time, and in a swing nobody asks."""

    @property
    def q_earth_from_sensor(self) -> Quat:
        """Orientation at the sample pushed last, in an earth with z up."""
        self._settle()
        w, x, y, z = self._newest.tolist()
        return (w, x, y, z)

    def push(self, gyr_rad_s: NDArray[np.float64], acc_m_s2: NDArray[np.float64]) -> None:
        """Take in a block, arrays of shape (n, 3)."""
        self._waiting.append((gyr_rad_s, acc_m_s2))
        if len(self._waiting) >= _MOST_WAITING:
            self._settle()

    def _settle(self) -> None:
        if not self._waiting:
            return
        gyr_rad_s, acc_m_s2 = (np.concatenate(blocks) for blocks in zip(*self._waiting, strict=True))
        self._waiting.clear()
        self._newest = self._filter.updateBatch(gyr_rad_s, acc_m_s2)["quat6D"][-1]

    def __getstate__(self) -> dict[str, Any]:
        return {**self.__dict__, "_filter": self._filter.state}

    def __setstate__(self, state: dict[str, Any]) -> None:
        self.__dict__.update(state)
        self._filter = _vqf(self._rate_hz)
        self._filter.state = state["_filter"]


def _vqf(rate_hz: float) -> VQF:
    return VQF(1.0 / rate_hz, motionBiasEstEnabled=False)
