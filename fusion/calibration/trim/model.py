"""What the holds and turns of one sensor should read, given its faults: weighted residuals and their derivatives.

Unknowns: gyroscope offset b and matrix M, accelerometer offset o and matrix N, and for each hold the true up u.

* hold:  measured mean force = N g u + o                      (accelerometer, inverse form: linear in N and o)
* hold:  measured mean rate = b                               (to within the tremor)
* turn:  R(M, b) u_next = u_last, R the product of exp(M (phi - b dt)) over the steps of the turn  (gravity closure)
* prior: every fault is what an untouched consumer part may have

|up| = g alone fixes offset and matrix of the accelerometer but for a rotation, so N is symmetric by choice: the common frame of
both calibrated sensors is the one nearest to the accelerometer's own axes; M holds the gyroscope's scales, cross-axis parts and
its misalignment to that frame. The idea of both costs: Tedaldi, Pretto, Menegatti, "A robust and easy to implement method for
IMU calibration without external equipments", ICRA 2014 (from memory); priors, joint up vectors and covariance are ours.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fusion.calibration.convert import square_to
from fusion.calibration.trim.faults import N_FAULTS, PRIOR_SD, Faults
from fusion.calibration.trim.hold import Hold
from fusion.calibration.trim.turn import Turn

Array = NDArray[np.float64]

TURN_FLOOR_RAD = 3e-4
WALK_RAD_SQRT_S = math.radians(0.01)
"""Angle random walk of a consumer gyroscope, from memory 0.004 to 0.01 deg per root second."""
OFFSET_WANDER_RAD_S = math.radians(0.01)
"""How far the offset may have wandered from the mean of the session."""
PATH_SHARE = 3e-4
"""Nonlinearity and sampling: error of a turn over its path."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """A turn joins hold `last` to hold `next`, indices into the holds."""

    last: int
    next: int
    turn: Turn


def turn_sd_rad(turn: Turn) -> float:
    """How far the end of a turn may be off with perfect faults."""
    t = turn.length_s
    return math.sqrt(
        TURN_FLOOR_RAD**2 + WALK_RAD_SQRT_S**2 * t + (OFFSET_WANDER_RAD_S * t) ** 2 + (PATH_SHARE * turn.path_rad) ** 2
    )


class Problem:
    """Residuals in standard deviations. Rows: 3 a hold (force), 3 a joint, 3 a hold (rate), 21 priors."""

    def __init__(self, holds: list[Hold], joints: list[Joint], gravity_m_s2: float, slack: float) -> None:
        """`slack` widens the standard deviations of forces and turns alike."""
        self.holds, self.joints, self._g, self._slack = holds, joints, gravity_m_s2, slack
        self.n_unknowns = N_FAULTS + 2 * len(holds)
        self.n_measured = 3 * (len(holds) + len(joints))
        """Leading rows that the slack applies to."""
        self._last: tuple[Array, Array, Array] | None = None
        self._up0 = np.array([hold.force_m_s2 / np.linalg.norm(hold.force_m_s2) for hold in holds])
        self._tangent = np.array([square_to(up) for up in self._up0])

    def residuals(self, x: Array) -> Array:
        """Shape (rows,)."""
        return self._at(x)[0]

    def jacobian(self, x: Array) -> Array:
        """Shape (rows, unknowns)."""
        return self._at(x)[1]

    def _at(self, x: Array) -> tuple[Array, Array]:
        """Both, computed once: the solver asks for one after the other at the same place."""
        if self._last is None or not np.array_equal(self._last[0], x):
            self._last = (x.copy(), *self._evaluate(x))
        return self._last[1:]

    def _evaluate(self, x: Array) -> tuple[Array, Array]:
        faults = Faults.of(x)
        n = len(self.holds)
        off = np.zeros(self.n_measured + 3 * n + N_FAULTS)
        by = np.zeros((len(off), self.n_unknowns))
        ups, by_up = self._ups(x)
        for k, hold in enumerate(self.holds):
            rows, tilt = slice(3 * k, 3 * k + 3), slice(N_FAULTS + 2 * k, N_FAULTS + 2 * k + 2)
            up, sd = ups[k], hold.force_sd_m_s2 * self._slack
            off[rows] = (faults.acc_inverse @ (self._g * up) + faults.acc_offset_m_s2 - hold.force_m_s2) / sd
            by[rows, 12:15] = np.eye(3) / sd
            by[rows, 15:21] = self._g * _by_symmetric(up) / sd
            by[rows, tilt] = self._g * faults.acc_inverse @ by_up[k] / sd
            rows = slice(self.n_measured + 3 * k, self.n_measured + 3 * k + 3)
            off[rows] = (faults.gyr_offset_rad_s - hold.rate_rad_s) / hold.rate_sd_rad_s
            by[rows, 0:3] = np.eye(3) / hold.rate_sd_rad_s
        for m, joint in enumerate(self.joints):
            rows, sd = slice(3 * (n + m), 3 * (n + m) + 3), turn_sd_rad(joint.turn) * self._slack
            back, by_matrix, by_offset = faults.turned(joint.turn)
            seen = back @ ups[joint.next]
            cross = -_skew(seen)  # a small turn theta moves `seen` by theta x seen
            off[rows] = (seen - ups[joint.last]) / sd
            by[rows, 0:3] = cross @ by_offset / sd
            by[rows, 3:12] = cross @ by_matrix.reshape(3, 9) / sd
            last, following = N_FAULTS + 2 * joint.last, N_FAULTS + 2 * joint.next
            by[rows, last : last + 2] -= by_up[joint.last] / sd
            by[rows, following : following + 2] += back @ by_up[joint.next] / sd
        off[-N_FAULTS:] = x[:N_FAULTS]
        by[:, :N_FAULTS] *= PRIOR_SD
        by[-N_FAULTS:, :N_FAULTS] = np.eye(N_FAULTS)
        return off, by

    def _ups(self, x: Array) -> tuple[Array, Array]:
        """Up of every hold, shape (n, 3), and its derivative by the two angles, shape (n, 3, 2)."""
        raw = self._up0 + np.einsum("nij,nj->ni", self._tangent, x[N_FAULTS:].reshape(-1, 2))
        size = np.linalg.norm(raw, axis=1)
        up = raw / size[:, None]
        flat = np.eye(3) - up[:, :, None] * up[:, None, :]
        return up, np.asarray(flat @ self._tangent / size[:, None, None])


def _by_symmetric(up: Array) -> Array:
    """Derivative of S u by the six elements of a symmetric S, shape (3, 6)."""
    x, y, z = up
    return np.array([[x, 0, 0, y, z, 0], [0, y, 0, x, 0, z], [0, 0, z, 0, x, y]])


def _skew(v: Array) -> Array:
    return np.array([[0, -v[2], v[1]], [v[2], 0, -v[0]], [-v[1], v[0], 0]])
