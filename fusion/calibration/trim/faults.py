"""The faults of a sensor that a calibration finds, and how large they are in a part that nobody has calibrated."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fusion.calibration.trim.turn import Turn
from fusion.rotation import IDENTITY, exp, mul, normalised

Array = NDArray[np.float64]

GYR_OFFSET_SD_RAD_S = math.radians(3.0)
SCALE_SD = 0.01
CROSS_SD = 0.005
"""Each of six elements of a matrix, accelerometer or gyroscope."""
ACC_OFFSET_SD_M_S2 = 0.03 * 9.80665
"""Priors, one standard deviation: an untrimmed consumer part; of the order of data sheets, from memory."""

N_FAULTS = 21
_SYMMETRIC = ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2))
# A symmetric N averages two cross-axis elements; what it cannot hold turns the common frame, and so into M.
_ACC_CROSS_SD = CROSS_SD / math.sqrt(2)
_GYR_CROSS_SD = math.hypot(CROSS_SD, _ACC_CROSS_SD)
PRIOR_SD = np.array(
    [GYR_OFFSET_SD_RAD_S] * 3
    + [SCALE_SD if i == j else _GYR_CROSS_SD for i in range(3) for j in range(3)]
    + [ACC_OFFSET_SD_M_S2] * 3
    + [SCALE_SD] * 3
    + [_ACC_CROSS_SD] * 3
)
"""Of the faults in their order: b, M row by row, o, N's diagonal, N's xy, xz, yz."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Faults:
    """The unknowns in plain form."""

    gyr_offset_rad_s: Array
    gyr_matrix: Array
    acc_offset_m_s2: Array
    acc_inverse: Array
    """N, symmetric: raw = N true + offset."""

    @staticmethod
    def of(scaled: Array) -> Faults:
        """Faults from the unknowns in units of their priors, shape (21,)."""
        x = scaled[:N_FAULTS] * PRIOR_SD
        inverse = np.eye(3)
        for value, (i, j) in zip(x[15:21], _SYMMETRIC, strict=True):
            inverse[i, j] += value
            if i != j:
                inverse[j, i] += value
        return Faults(
            gyr_offset_rad_s=x[:3],
            gyr_matrix=np.eye(3) + x[3:12].reshape(3, 3),
            acc_offset_m_s2=x[12:15],
            acc_inverse=inverse,
        )

    def turned(self, turn: Turn) -> tuple[Array, Array, Array]:
        """Rotation later -> earlier, shape (3, 3), and how a small turn in the earlier frame follows from M and from b.

        The last two: shape (3, 3, 3), [k, i, j] for M[i, j]; and shape (3, 3), [k, j] for b[j].
        """
        phi = turn.steps_rad - turn.step_s[:, None] * self.gyr_offset_rad_s
        q, middles = IDENTITY, []
        for x, y, z in (phi @ self.gyr_matrix.T).tolist():
            middles.append(mul(q, exp((x / 2, y / 2, z / 2))))
            q = normalised(mul(q, exp((x, y, z))))
        at = _matrices(np.array(middles))
        by_matrix = np.einsum("nki,nj->kij", at, phi)
        by_offset = -np.einsum("nki,n->ki", at, turn.step_s) @ self.gyr_matrix
        return _matrices(np.array([q]))[0], by_matrix, by_offset


def _matrices(q: Array) -> Array:
    """Rotation matrices of quaternions, scalar first, shape (n, 4) -> (n, 3, 3)."""
    w, x, y, z = q.T
    return np.asarray(
        np.array(
            [
                [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
                [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
                [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
            ]
        ).transpose(2, 0, 1)
    )
