"""The most likely faults of a sensor, and how well they are known."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from fusion.calibration.trim.faults import N_FAULTS, PRIOR_SD, Faults
from fusion.calibration.trim.hold import Hold
from fusion.calibration.trim.model import Joint, Problem

Array = NDArray[np.float64]

_MOST_SLACK = 10.0
ROUNDS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """Faults, their covariance, and what they leave unexplained."""

    faults: Faults
    covariance: Array
    """Of the faults in the order of `faults.PRIOR_SD`, shape (21, 21)."""
    slack: float
    """How many times wider than assumed the measurements had to be taken for the residuals to be likely; 1 at least."""
    size_errors: Array
    """By hold: calibrated force over g, less one."""
    turn_errors: Array
    """By joint: angle in radians between up of the first hold and up of the second turned back, both as measured."""


def solve_faults(holds: list[Hold], joints: list[Joint], gravity_m_s2: float, *, rounds: int = ROUNDS) -> Solution:
    """Least squares with priors; if the measurements scatter more than they should, they are believed that much less.

    One round is enough for the errors, not for the covariance.
    """
    slack = 1.0
    x = np.zeros(N_FAULTS + 2 * len(holds))
    for _ in range(rounds):
        problem = Problem(holds, joints, gravity_m_s2, slack)
        x = least_squares(problem.residuals, x, jac=problem.jacobian, method="lm", x_scale="jac").x
        residuals, slope = problem.residuals(x), problem.jacobian(x)
        covariance = np.linalg.inv(slope.T @ slope)
        # Degrees of freedom of the measured rows: 2 a joint (the third is along up), less what the fit uses up of them.
        measured = slope[: problem.n_measured]
        free = 3 * len(holds) + 2 * len(joints) - float(np.einsum("ij,jk,ik->", measured, covariance, measured))
        excess = float((residuals[: problem.n_measured] ** 2).sum()) / max(free, 1.0)
        if excess <= 1.0 or slack >= _MOST_SLACK:
            break
        slack = min(slack * math.sqrt(excess), _MOST_SLACK)
    faults = Faults.of(x)
    scale = np.diag(PRIOR_SD)
    true = np.array([np.linalg.solve(faults.acc_inverse, hold.force_m_s2 - faults.acc_offset_m_s2) for hold in holds])
    sizes = np.linalg.norm(true, axis=1)
    ups = true / sizes[:, None]
    return Solution(
        faults=faults,
        covariance=scale @ covariance[:N_FAULTS, :N_FAULTS] @ scale,
        slack=slack,
        size_errors=sizes / gravity_m_s2 - 1.0,
        turn_errors=np.array(
            [_angle(faults.turned(joint.turn)[0] @ ups[joint.next], ups[joint.last]) for joint in joints]
        ),
    )


def _angle(a: Array, b: Array) -> float:
    return math.atan2(float(np.linalg.norm(np.cross(a, b))), float(a @ b))
