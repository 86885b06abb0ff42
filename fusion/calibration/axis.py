"""The axis that a functional move turned about: the direction of greatest angular rate, by singular values."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fusion.rotation import Vec


@dataclass(frozen=True, slots=True, kw_only=True)
class TurningAxis:
    """Unit axis in sensor axes, either sense."""

    axis_sensor: Vec
    wobble: float
    """Rate across the axis over rate about it, root mean square, dimensionless."""
    path_rad: float
    """Whole angle turned, to and fro added up."""


def turning_axis(device_s: NDArray[np.float64], gyr_sensor_rad_s: NDArray[np.float64]) -> TurningAxis:
    """Find the axis of rates, shape (n, 3), at times of shape (n,)."""
    _, sizes, directions = np.linalg.svd(gyr_sensor_rad_s, full_matrices=False)
    path = float(np.linalg.norm(gyr_sensor_rad_s[1:], axis=1) @ np.diff(device_s))
    x, y, z = directions[0].tolist()
    wobble = float(sizes[1] / sizes[0]) if sizes[0] > 0 else 1.0
    return TurningAxis(axis_sensor=(x, y, z), wobble=wobble, path_rad=path)
