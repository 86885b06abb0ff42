"""Tilt between swings by VQF (Laidig and Seel, Information Fusion 91, 2023), through the compiled `vqf` package.

Good over minutes of any motion, so the shaft's elevation can be shown while nobody stands to a ball. Its estimation of bias
*during motion* stays off: swings mislead it. Its heading is its own and is not used.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from vqf import VQF

from fusion.rotation import Quat


class IdleTilt:
    """VQF of one sensor at its nominal rate; holes are stepped over, the accelerometer pulls the tilt back in seconds.

    Can be pickled: what is saved is the compiled filter's whole state, and a restored one goes on to the last bit.
    """

    def __init__(self, rate_hz: float) -> None:
        self._rate_hz = rate_hz
        self._filter = _vqf(rate_hz)
        self._newest: NDArray[np.float64] = np.array([1.0, 0.0, 0.0, 0.0])

    @property
    def q_earth_from_sensor(self) -> Quat:
        """Orientation at the sample pushed last, in an earth with z up."""
        w, x, y, z = self._newest.tolist()
        return (w, x, y, z)

    def push(self, gyr_rad_s: NDArray[np.float64], acc_m_s2: NDArray[np.float64]) -> None:
        """Take in a block, arrays of shape (n, 3)."""
        out = self._filter.updateBatch(np.ascontiguousarray(gyr_rad_s), np.ascontiguousarray(acc_m_s2))
        self._newest = out["quat6D"][-1]

    def __getstate__(self) -> dict[str, Any]:
        return {**self.__dict__, "_filter": self._filter.state}

    def __setstate__(self, state: dict[str, Any]) -> None:
        self.__dict__.update(state)
        self._filter = _vqf(self._rate_hz)
        self._filter.state = state["_filter"]


def _vqf(rate_hz: float) -> VQF:
    return VQF(1.0 / rate_hz, motionBiasEstEnabled=False)
