"""All quantities at each instant of a swing, from an address onward."""

from __future__ import annotations

from dataclasses import dataclass

from fusion.address import Address
from fusion.calibration.fit import BodyFit
from fusion.joints.wrist import anatomical_angles
from fusion.outputs import Angles
from fusion.rotation import Quat, Vec, angle, angle_between, inverse, mul, rotate
from fusion.shaft.pitch import elevation, pitch
from fusion.shaft.twist import AxialTurn
from sensors.ids import Side

_DISTAL: Vec = (0.0, -1.0, 0.0)
_PROXIMAL: Vec = (0.0, 1.0, 0.0)


@dataclass(frozen=True, slots=True)
class Instant:
    """One instant: the angles, and what the swing detector looks at."""

    t_s: float
    angles: Angles
    wrist_possible: bool
    club_turn_rad: float
    """Size of the club's whole rotation since address."""
    arm_turn_rad: float
    shaft_off_rad: float
    """Angle between the shaft and its direction at address."""
    shaft_rise_rad: float
    """Shaft elevation above that at address."""
    shaft_trail: float
    """How much of the unit shaft points away from the target, along the target line: 1 when level in the backswing."""


class SwingMeasure:
    """Counts from one address."""

    def __init__(self, address: Address, fit: BodyFit) -> None:
        self._address = address
        self._fit = fit
        left = fit.side is Side.LEFT
        # Pronation sense turns a left forearm the negative way about its proximal axis; the face of a club led by the left
        # arm shuts by turning the positive way about butt-to-head.
        self._roll_sign = -1.0 if left else 1.0
        # The same sign says on which side of the player (x of the address earth, to the right) the trail side lies.
        self._shut_sign = 1.0 if left else -1.0
        self._roll = AxialTurn(_PROXIMAL)
        self._roll.restart(address.q_earth_from_forearm)
        self._face = AxialTurn(fit.shaft_sensor)
        self._face.restart(address.q_earth_from_club)
        self._q_forearm_inverse = inverse(address.q_earth_from_forearm)
        self._q_club_inverse = inverse(address.q_earth_from_club)

    def club_turn(self, q_club_free: Quat) -> float:
        """Size of the club's rotation since address, radians."""
        return angle(mul(self._q_club_inverse, mul(self._address.q_earth_from_club_free, q_club_free)))

    def push(self, t_s: float, q_forearm_free: Quat, q_club_free: Quat) -> Instant:
        """Advance to the next instant, in order; steps must be small enough that twists about a moving axis add up."""
        address, fit = self._address, self._fit
        q_forearm = mul(mul(address.q_earth_from_forearm_free, q_forearm_free), fit.q_sensor_from_forearm)
        q_club = mul(address.q_earth_from_club_free, q_club_free)
        wrist = anatomical_angles(mul(inverse(q_forearm), mul(q_club, fit.q_sensor_from_hand)), fit.side)
        shaft = rotate(q_club, fit.shaft_sensor)
        zero = address.wrist
        angles = Angles(
            bend_rad=wrist.flexion_rad,
            bend_change_rad=wrist.flexion_rad - zero.flexion_rad,
            hinge_rad=wrist.ulnar_rad,
            hinge_change_rad=wrist.ulnar_rad - zero.ulnar_rad,
            roll_change_rad=self._roll_sign * self._roll.push(q_forearm),
            shaft_elevation_rad=elevation(shaft),
            shaft_pitch_rad=pitch(shaft),
            arm_elevation_rad=elevation(rotate(q_forearm, _DISTAL)),
            face_twist_rad=self._shut_sign * self._face.push(q_club),
        )
        return Instant(
            t_s=t_s,
            angles=angles,
            wrist_possible=wrist.possible,
            club_turn_rad=angle(mul(self._q_club_inverse, q_club)),
            arm_turn_rad=angle(mul(self._q_forearm_inverse, q_forearm)),
            shaft_off_rad=angle_between(shaft, address.shaft),
            shaft_rise_rad=elevation(shaft) - elevation(address.shaft),
            shaft_trail=self._shut_sign * shaft[0],
        )


def tilt_only(q_earth_from_club: Quat, fit: BodyFit, q_earth_from_forearm: Quat) -> Angles:
    """What can be said with no address: elevations, which need no heading."""
    return Angles(
        shaft_elevation_rad=elevation(rotate(q_earth_from_club, fit.shaft_sensor)),
        arm_elevation_rad=elevation(rotate(mul(q_earth_from_forearm, fit.q_sensor_from_forearm), _DISTAL)),
    )
