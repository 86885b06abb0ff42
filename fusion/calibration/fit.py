"""How the sensors lie on forearm, hand and club: constants of one practice, and how well they are known."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fusion.calibration.convert import square_to, vec_of
from fusion.outputs.fit import FitReason
from fusion.rotation import Quat, Vec, exp, inverse, mul, rotate
from sensors.habit import Habit
from sensors.ids import Move, Role, Side

N_CONSTANTS = 8
"""Forearm axes (3), hand axes (3), shaft (2)."""


class FitRejected(Exception):
    """The moves do not fit together. `measured` against `limit`, in the reason's unit."""

    def __init__(self, reason: FitReason, measured: float, limit: float) -> None:
        self.reason = reason
        self.measured = measured
        self.limit = limit
        super().__init__(f"{reason.value}: {measured:.1f}, limit {limit:.1f}")


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyFit:
    """The constants."""

    side: Side
    q_sensor_from_forearm: Quat
    q_sensor_from_hand: Quat
    """Hand axes in the club's sensor, for as long as the grip holds."""
    shaft_sensor: Vec
    """Butt to head in the club's sensor, unit vector."""
    skin_lag: float
    """Share of the forearm's roll by which the sensor on the skin stays behind the bone."""
    covariance: tuple[tuple[float, ...], ...]
    """Of small turns of the forearm axes and of the hand axes (each about its own x, y, z) and of the shaft (about two axes
    square to it), rad^2, 8 by 8."""
    moves: tuple[Move, ...] = ()
    """What it was made from."""
    habit: Habit | None = None
    """What the moves show of the player; None without an address."""

    def sd_rad(self) -> NDArray[np.float64]:
        """One standard deviation of each constant, shape (8,)."""
        return np.asarray(np.sqrt(np.diag(np.array(self.covariance))))

    def turned(self, by: NDArray[np.float64]) -> BodyFit:
        """Return the same fit with its constants moved by `by`, shape (8,), radians."""
        a, b = across(self.shaft_sensor)
        p, q = float(by[6]), float(by[7])
        return replace(
            self,
            q_sensor_from_forearm=mul(self.q_sensor_from_forearm, exp(vec_of(by[0:3]))),
            q_sensor_from_hand=mul(self.q_sensor_from_hand, exp(vec_of(by[3:6]))),
            shaft_sensor=rotate(
                exp((p * a[0] + q * b[0], p * a[1] + q * b[1], p * a[2] + q * b[2])), self.shaft_sensor
            ),
        )

    def loosened(self, role: Role, by_rad: float) -> BodyFit:
        """Return the same fit, unsure by `by_rad` of how that sensor is rolled about the forearm, or about the shaft."""
        way = np.zeros(N_CONSTANTS)
        if role is Role.FOREARM:
            way[1] = by_rad
        else:
            way[3:6] = by_rad * np.array(rotate(inverse(self.q_sensor_from_hand), self.shaft_sensor))
        covariance = np.array(self.covariance) + np.outer(way, way)
        return replace(self, covariance=tuple(tuple(row) for row in covariance.tolist()))

    def doubtful_ways(self) -> tuple[NDArray[np.float64], ...]:
        """Independent ways in which the constants may be off, each one standard deviation long, shape (8,), largest first."""
        sizes, ways = np.linalg.eigh(np.array(self.covariance))
        return tuple(
            math.sqrt(size) * ways[:, i] for i, size in reversed(list(enumerate(sizes.tolist()))) if size > _NEGLIGIBLE
        )


_NEGLIGIBLE = math.radians(0.05) ** 2


def across(axis: Vec) -> tuple[Vec, Vec]:
    """Two unit vectors square to a unit axis and to each other."""
    first, second = square_to(np.array(axis)).T
    return vec_of(first), vec_of(second)
