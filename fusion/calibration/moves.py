"""What is kept of a fit move: the two sensors' orientations at a handful of instants, levelled, and the axes it turned about."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from fusion.calibration.axis import TurningAxis
from fusion.calibration.skew import Skew
from sensors.ids import Move


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveTaken:
    """One accepted move. Orientations lead from sensor axes to an earth with z up, one for each sensor."""

    move: Move
    t_s: float
    """When it ended, session time."""
    n_breaks: int
    """Holes in either sensor's data so far: headings before and after one are not connected."""
    q_forearm: NDArray[np.float64]
    """q_level_from_sensor of the forearm sensor, shape (n, 4)."""
    q_club: NDArray[np.float64]
    """The same of the club sensor at the same instants, shape (n, 4); empty for a move without the club."""
    turn_forearm_rad: NDArray[np.float64]
    """Turn of the forearm sensor since the start about its own axes at the same instants, shape (n, 3)."""
    forearm_axis: TurningAxis | None = None
    """About what the forearm sensor turned, in its own axes."""
    club_axis: TurningAxis | None = None
    skew: Skew | None = None
    """How late the club's stamps are against the forearm's, from a move of both as one body."""
    drift_sd_rad_s: float = 0.0
    """How fast the sensors' headings may wander apart: what their biases are known to, one standard deviation."""
    measured: float = 0.0
    """The move's own quality: tremble in deg/s for a held one, spread in degrees for a functional one."""

    def up_forearm(self) -> NDArray[np.float64]:
        """Up in the forearm sensor's axes, mean over the instants, shape (3,)."""
        return _up(self.q_forearm)

    def up_club(self) -> NDArray[np.float64]:
        """The same in the club sensor's; only of a move with the club."""
        return _up(self.q_club)


def _up(q_level_from_sensor: NDArray[np.float64]) -> NDArray[np.float64]:
    up = Rotation.from_quat(q_level_from_sensor, scalar_first=True).inv().apply([0.0, 0.0, 1.0])
    return np.asarray(up.mean(axis=0))
