"""How the sensors lie on forearm, hand and club: constants of one practice, from gravity in held poses.

* Arm down: up is the forearm's y axis. Arm level with the thumb up: up is the thumb's side. The two give the forearm's axes
  in its sensor, however it is strapped on.
* The wrist is straight in both, so the hand's axes are the forearm's: two directions of gravity seen by both sensors give
  the hand's axes in the club sensor (Wahba's problem; Kabsch's solution in scipy), with no use of heading.
* Club hanging: down is the shaft.

What the poses miss, the fit misses: a wrist held 2 deg from straight moves the zero of bend by as much, for the whole practice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.spatial.transform import Rotation

from fusion.outputs import FitReason
from fusion.rotation import Quat, Vec, angle_between
from sensors.ids import Side

SQUARE_TOLERANCE_RAD = math.radians(30.0)
"""How far arm down and arm level may be from square to each other."""
AGREE_TOLERANCE_RAD = math.radians(12.0)
"""How far the two sensors may disagree on the angle between the two poses: more, and wrist or grip changed."""


class FitRejected(Exception):
    """The poses do not fit together. `measured_rad` against `limit_rad`."""

    def __init__(self, reason: FitReason, measured_rad: float, limit_rad: float) -> None:
        self.reason = reason
        self.measured_rad = measured_rad
        self.limit_rad = limit_rad
        super().__init__(f"{reason.value}: {math.degrees(measured_rad):.1f} deg, limit {math.degrees(limit_rad):.1f}")


@dataclass(frozen=True, slots=True, kw_only=True)
class PoseGravity:
    """Up in each sensor's axes while a pose was held, unit vectors."""

    forearm: Vec
    club: Vec


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyFit:
    """The constants."""

    side: Side
    q_sensor_from_forearm: Quat
    q_sensor_from_hand: Quat
    """Hand axes in the club's sensor, for as long as the grip holds."""
    shaft_sensor: Vec
    """Butt to head in the club's sensor, unit vector."""
    square_error_rad: float
    """How far the two arm poses were from square: the golfer's own error, a measure of quality."""
    agree_error_rad: float


def fit_body(*, arm_down: PoseGravity, arm_level: PoseGravity, club_hang: Vec, side: Side) -> BodyFit:
    """Solve the constants; `club_hang` is up in the club's sensor. Raises `FitRejected`."""
    opening = angle_between(arm_down.forearm, arm_level.forearm)
    square_error = abs(opening - math.pi / 2)
    if square_error > SQUARE_TOLERANCE_RAD:
        reason = FitReason.POSES_ALIKE if opening < math.pi / 2 else FitReason.WRONG_POSE
        raise FitRejected(reason, square_error, SQUARE_TOLERANCE_RAD)
    agree_error = abs(opening - angle_between(arm_down.club, arm_level.club))
    if agree_error > AGREE_TOLERANCE_RAD:
        raise FitRejected(FitReason.WRONG_POSE, agree_error, AGREE_TOLERANCE_RAD)

    thumb_side = -1.0 if side is Side.LEFT else 1.0
    y = np.array(arm_down.forearm)
    z = thumb_side * np.array(arm_level.forearm)
    z = z - (z @ y) * y
    z /= np.linalg.norm(z)
    sensor_from_forearm = np.stack([np.cross(y, z), y, z], axis=1)
    ups_hand = np.array([arm_down.forearm, arm_level.forearm]) @ sensor_from_forearm
    ups_club = np.array([arm_down.club, arm_level.club])
    sensor_from_hand, _ = Rotation.align_vectors(ups_club, ups_hand)
    return BodyFit(
        side=side,
        q_sensor_from_forearm=_quat(Rotation.from_matrix(sensor_from_forearm)),
        q_sensor_from_hand=_quat(sensor_from_hand),
        shaft_sensor=(-club_hang[0], -club_hang[1], -club_hang[2]),
        square_error_rad=square_error,
        agree_error_rad=agree_error,
    )


def _quat(rotation: Rotation) -> Quat:
    """Scipy keeps the scalar last by default; here it is first."""
    w, x, y, z = rotation.as_quat(scalar_first=True).tolist()
    return (w, x, y, z)
