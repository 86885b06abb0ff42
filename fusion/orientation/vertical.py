"""Which way is up on a body that is never quite still: the mean specific force, weighed over the last seconds.

In an earth that the gyroscope holds still, specific force is gravity plus the sensor's own acceleration. Nobody stands like a
statue: half a second that catches the end of a waggle leaves degrees of tilt. What turns fast is also accelerated much, so
each twentieth of a second counts by the inverse square of what its angular rate says of its acceleration (the weighted mean
of least variance). Quiet moments before the last waggle then help, and the waggle itself does no harm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fusion.orientation.quats import rotated
from fusion.orientation.rest import STANDARD_GRAVITY_M_S2
from fusion.orientation.window import Stretch
from fusion.rotation import Vec

Array = NDArray[np.float64]

REACH_S: Final = 1.5
"""How far back it looks: longer ago the feet may still have been moving, which turns nothing."""
_BIN_S: Final = 0.05
_N: Final = round(REACH_S / _BIN_S)
_NEARBY: Final = 5
"""Bins over which the size of the motion is spread: a rate passes through zero just where the acceleration is greatest."""
_SIDE: Final = _NEARBY // 2
_MEAN: Final = np.full(_NEARBY, 1 / _NEARBY)
_AGES_S: Final = (np.arange(_N) + 0.5) * _BIN_S
_TREMBLE_M_S2: Final = 0.05
_ACCELERATION_M_S2: Final = 5.0
"""For each rad/s: at a hertz or two the wrist's path curves this much. Both by simulation, no source; the best is flat."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Vertical:
    """Up, in the sensor's free earth."""

    up_free: Vec
    """Unit vector."""
    sd_rad: float
    """Of either tilt, from motion and from the gyroscope's bias; the accelerometer's own error is not in it."""


def vertical_of(window: Stretch, bias_rad_s: Array, bias_sd_rad_s: float) -> Vertical:
    """Up at the end of a window without holes, `REACH_S` long or shorter; its rates have their bias in."""
    force, rate = _bins(window, bias_rad_s)
    lean = STANDARD_GRAVITY_M_S2 * bias_sd_rad_s * _AGES_S[: len(rate)]
    weight = 1.0 / (_TREMBLE_M_S2**2 + (_ACCELERATION_M_S2 * rate) ** 2 + lean**2)
    up = weight @ force
    x, y, z = (up / math.sqrt(up.dot(up))).tolist()
    sd_rad = 1.0 / (math.sqrt(float(weight.sum())) * STANDARD_GRAVITY_M_S2)
    return Vertical(up_free=(x, y, z), sd_rad=sd_rad)


def _bins(window: Stretch, bias_rad_s: Array) -> tuple[Array, Array]:
    """Mean specific force in the free earth, shape (n, 3), and size of the motion, rad/s, shape (n,); newest bin first.

    The motion of a bin is its root mean square rate, or the mean of it and its neighbours' if that is more.
    """
    force = rotated(window.q_free_from_sensor, window.acc_m_s2)
    rates = window.gyr_rad_s - bias_rad_s
    square = np.einsum("ij,ij->i", rates, rates)
    # Half a microsecond off: a sample a whole number of bins old must not fall either side by rounding.
    which = np.minimum(((window.t_s[-1] - window.t_s + 5e-7) / _BIN_S).astype(np.intp), _N)
    counts = np.bincount(which)[:_N]
    n = int(np.argmin(counts)) if not counts.all() else len(counts)
    counts = counts[:n]
    forces = np.stack([np.bincount(which, force[:, i])[:n] / counts for i in range(3)], axis=1)
    rate = np.sqrt(np.bincount(which, square)[:n] / counts)
    longer = np.concatenate(([rate[0]] * _SIDE, rate, [rate[-1]] * _SIDE))  # `np.pad` takes five times as long
    about = np.convolve(longer, _MEAN, "valid")
    return forces, np.maximum(rate, about)
