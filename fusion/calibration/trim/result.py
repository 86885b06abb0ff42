"""What a calibration comes to: a `Trim` with its figures, or why not, with the measured figure and the limit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray

from fusion.calibration.trim.solve import Solution
from fusion.outputs.fit import FitReason
from sensors.trim import Matrix, Trim

Array = NDArray[np.float64]
Triple = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rejection:
    """Not good enough, by what figure.

    Units: MOVING and DISAGREES deg/s, NOT_GRAVITY m/s2, NO_DATA s, FEW_ATTITUDES a count, POOR_TRIM percent of g.
    """

    reason: FitReason
    measured: float
    limit: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimFigures:
    """How good a calibration is. Triples are by axis of the sensor; sd is one standard deviation."""

    n_attitudes: int
    """Distinct ones."""
    n_holds: int
    n_turns: int
    n_dropped: int
    """Holds left out because they fit no calibration that the others agree on."""
    misfit_pct: float
    """Worst disagreement of a hold or turn, percent of g; see `docs/sensor-calibration.md`."""
    gyr_offset_sd_rad_s: Triple
    gyr_scale_sd: Triple
    acc_offset_sd_m_s2: Triple
    acc_scale_sd: Triple


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimResult:
    """`trim` is what can be used now: an estimate with its sd, the gyroscope's offset alone, or None; see `rejection`."""

    trim: Trim | None
    figures: TrimFigures | None = None
    rejection: Rejection | None = None

    @property
    def complete(self) -> bool:
        """Worth keeping with the sensor."""
        return self.rejection is None


def offset_only(gyr_offset_rad_s: Array) -> Trim:
    """What `still` alone gives; the rest of the sensor stays as unknown as it was."""
    return Trim(gyr_offset_rad_s=_triple(gyr_offset_rad_s))


def trim_of(solution: Solution, gravity_m_s2: float) -> Trim:
    """The solution in the form that is used and kept."""
    faults = solution.faults
    variance = np.diag(solution.covariance)
    return Trim(
        gyr_offset_rad_s=_triple(faults.gyr_offset_rad_s),
        gyr_matrix=_matrix(faults.gyr_matrix),
        acc_offset_m_s2=_triple(faults.acc_offset_m_s2),
        acc_matrix=_matrix(np.asarray(np.linalg.inv(faults.acc_inverse), dtype=np.float64)),
        gyr_scale_sd=math.sqrt(float(variance[[3, 7, 11]].mean())),
        acc_sd_m_s2=_acc_sd_m_s2(variance, gravity_m_s2),
    )


def figures_of(solution: Solution, *, n_attitudes: int, n_dropped: int) -> TrimFigures:
    """The figures of a solution."""
    sd = np.sqrt(np.diag(solution.covariance))
    return TrimFigures(
        n_attitudes=n_attitudes,
        n_holds=len(solution.size_errors),
        n_turns=len(solution.turn_errors),
        n_dropped=n_dropped,
        misfit_pct=misfit_pct(solution),
        gyr_offset_sd_rad_s=_triple(sd[0:3]),
        gyr_scale_sd=_triple(sd[[3, 7, 11]]),
        acc_offset_sd_m_s2=_triple(sd[12:15]),
        acc_scale_sd=_triple(sd[15:18]),
    )


def misfit_pct(solution: Solution) -> float:
    """Worst error of the calibrated gravity, in size or, turned from hold to hold, in direction; percent of g."""
    errors = [float(np.abs(solution.size_errors).max()), *solution.turn_errors.tolist()]
    return 100.0 * float(max(errors))


def _acc_sd_m_s2(variance: Array, gravity_m_s2: float) -> float:
    """Error of one axis at rest, root mean square over axes and all directions of up.

    The error is d_o + g d_N u; over the sphere the mean of u is 0 and that of u uT is 1/3, so only variances are left.
    """
    offset = variance[12:15].sum()
    matrix = variance[15:18].sum() + 2 * variance[18:21].sum()
    return math.sqrt(float(offset + gravity_m_s2**2 / 3 * matrix) / 3)


def _triple(v: Array) -> Triple:
    return (float(v[0]), float(v[1]), float(v[2]))


def _matrix(m: Array) -> Matrix:
    return cast("Matrix", tuple(_triple(row) for row in m))
