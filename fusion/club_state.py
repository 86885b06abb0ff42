"""Arm, hand and club at one instant, and the coach's "what if": the same instant with another bend or roll."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from fusion.calibration.fit import BodyFit
from fusion.joints.wrist import anatomical_angles, lead_sign, wrist_rotation
from fusion.rotation import Quat, Vec, cross, dot, exp, inverse, mul, relative, rotate, twist
from fusion.shaft.butt_line import ButtLine
from fusion.shaft.pitch import elevation, pitch

DISTAL: Vec = (0.0, -1.0, 0.0)
_STEP_RAD = math.radians(1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What a coach would see of the club, in radians and metres; None where it cannot be said."""

    shaft_elevation_rad: float
    shaft_pitch_rad: float | None
    butt_line_m: float | None
    face_turn_rad: float
    """Turn of the face about the shaft against the instant as it was, + shut, - open."""


class ClubState(NamedTuple):
    """One instant in the address earth: y outward over the ball, z up."""

    q_earth_from_forearm: Quat
    q_earth_from_club: Quat
    """Club sensor axes."""

    def shaft(self, fit: BodyFit) -> Vec:
        """Butt to head."""
        return rotate(self.q_earth_from_club, fit.shaft_sensor)

    def arm(self) -> Vec:
        """Elbow to wrist."""
        return rotate(self.q_earth_from_forearm, DISTAL)

    def with_wrist(self, fit: BodyFit, *, bend_rad: float = 0.0, roll_rad: float = 0.0) -> ClubState:
        """Return the same instant with the lead wrist bowed further by `bend_rad` and the forearm rolled further by `roll_rad`.

        Everything else is held: the arm's direction, the hinge, the grip. Signs as reported: + bowed, + pronation sense.
        """
        rolled = mul(self.q_earth_from_forearm, exp((0.0, lead_sign(fit.side) * roll_rad, 0.0)))
        now = relative(self.q_earth_from_forearm, mul(self.q_earth_from_club, fit.q_sensor_from_hand))
        angles = anatomical_angles(now, fit.side)
        bowed = wrist_rotation(
            flexion_rad=angles.flexion_rad + bend_rad, ulnar_rad=angles.ulnar_rad, axial_rad=angles.axial_rad,
            side=fit.side,
        )  # fmt: skip
        return ClubState(rolled, mul(mul(rolled, bowed), inverse(fit.q_sensor_from_hand)))


def what_if(
    state: ClubState, fit: BodyFit, butt: ButtLine | None, *, bend_rad: float = 0.0, roll_rad: float = 0.0
) -> Seen:
    """What would be seen at this instant with another bend and roll, all else held."""
    then = state.with_wrist(fit, bend_rad=bend_rad, roll_rad=roll_rad)
    shaft = then.shaft(fit)
    turn = twist(relative(state.q_earth_from_club, then.q_earth_from_club), fit.shaft_sensor)
    return Seen(
        shaft_elevation_rad=elevation(shaft),
        shaft_pitch_rad=pitch(shaft),
        butt_line_m=butt.of(shaft, then.arm()) if butt is not None else None,
        face_turn_rad=lead_sign(fit.side) * turn,
    )


def sensitivity(state: ClubState, fit: BodyFit) -> tuple[float | None, float | None]:
    """Change of shaft pitch for a change of bend, and of roll, at this instant: dimensionless; None where pitch is absent."""
    by_bend = [what_if(state, fit, None, bend_rad=step).shaft_pitch_rad for step in (-_STEP_RAD, _STEP_RAD)]
    by_roll = [what_if(state, fit, None, roll_rad=step).shaft_pitch_rad for step in (-_STEP_RAD, _STEP_RAD)]
    return _slope(*by_bend), _slope(*by_roll)


def _slope(low_rad: float | None, high_rad: float | None) -> float | None:
    if low_rad is None or high_rad is None:
        return None
    return math.remainder(high_rad - low_rad, math.pi) / (2 * _STEP_RAD)


def toe(state: ClubState, address: ClubState, fit: BodyFit) -> float:
    """Face against "toe up" with the club level: 0 when the toe points as high as it can, + shut, - open, radians.

    The toe is taken from address: there it points from the player outward, as square to the shaft as it can (face square to
    the target and the club soled is the golfer's own doing, not seen by the sensors).
    """
    toe_sensor = rotate(inverse(address.q_earth_from_club), square_part((0.0, 1.0, 0.0), address.shaft(fit)))
    shaft = state.shaft(fit)
    up = square_part((0.0, 0.0, 1.0), shaft)
    there = rotate(state.q_earth_from_club, toe_sensor)
    return lead_sign(fit.side) * math.atan2(dot(cross(up, there), shaft), dot(up, there))


def square_part(v: Vec, axis: Vec) -> Vec:
    """Part of v square to a unit axis."""
    along = dot(v, axis)
    return (v[0] - along * axis[0], v[1] - along * axis[1], v[2] - along * axis[2])
