"""A sensor's own calibration: what turns its raw rates and forces into true ones. Found once per sensor, kept with it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Matrix = tuple[tuple[float, float, float], tuple[float, float, float], tuple[float, float, float]]
_EYE: Matrix = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Trim:
    """`true = matrix @ (raw - offset)` for each of the two sensors on the chip, in the chip's axes."""

    gyr_offset_rad_s: tuple[float, float, float] = (0.0, 0.0, 0.0)
    gyr_matrix: Matrix = _EYE
    acc_offset_m_s2: tuple[float, float, float] = (0.0, 0.0, 0.0)
    acc_matrix: Matrix = _EYE
    gyr_scale_sd: float = 0.01
    """How well the gyroscope's scale is known, one standard deviation, dimensionless; untrimmed consumer parts about 1 %."""
    acc_sd_m_s2: float = 0.15
    """How far a reading at rest may still be off, one standard deviation."""

    def gyr(self, raw_rad_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """True angular rate of raw ones, shape (n, 3)."""
        offset, turned = _arrays(self.gyr_offset_rad_s, self.gyr_matrix)
        return np.asarray((raw_rad_s - offset) @ turned)

    def acc(self, raw_m_s2: NDArray[np.float64]) -> NDArray[np.float64]:
        """True specific force of raw ones, shape (n, 3)."""
        offset, turned = _arrays(self.acc_offset_m_s2, self.acc_matrix)
        return np.asarray((raw_m_s2 - offset) @ turned)


@lru_cache(maxsize=64)
def _arrays(offset: tuple[float, float, float], matrix: Matrix) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Made once, as every packet asks for them."""
    return np.array(offset), np.array(matrix).T


UNTRIMMED = Trim()
