"""Looks whether values have the units their columns say. It only warns: odd data is still data."""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

_GRAVITY_M_S2: Final = (6.0, 14.0)
_HIGHEST_RAD_S: Final = math.radians(8000.0)
"""No gyroscope in wearable sensors measures faster than about 4000 deg/s; common practice, no source."""


class Oddity(StrEnum):
    """What looks like a wrong unit."""

    ACC_UNIT = "acc_unit"
    """The typical acceleration is far from one g in m/s2."""
    GYR_UNIT = "gyr_unit"
    """A rate is faster than any gyroscope can say, in rad/s."""


def oddities(values: NDArray[np.float64]) -> list[Oddity]:
    """Look at rows of shape (n, 6): gyroscope in rad/s, accelerometer in m/s2."""
    typical_m_s2 = float(np.median(np.linalg.norm(values[:, 3:], axis=1)))
    found = []
    if not _GRAVITY_M_S2[0] <= typical_m_s2 <= _GRAVITY_M_S2[1]:
        found.append(Oddity.ACC_UNIT)
    if np.abs(values[:, :3]).max() > _HIGHEST_RAD_S:
        found.append(Oddity.GYR_UNIT)
    return found
