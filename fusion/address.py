"""The zero of a swing: at a rest over the ball, both sensors' earths become one.

Tilt comes from the mean specific force of the rest, the heading between the sensors from the two-axis wrist, and the common
heading from the shaft: y of the address earth points outward over the ball, z up. From then on only angular rate counts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fusion.calibration.fit import BodyFit
from fusion.joints.heading import relative_heading
from fusion.joints.wrist import WristAngles, anatomical_angles
from fusion.orientation.rest import Rest
from fusion.rotation import Quat, Vec, about_z, inverse, mul, rotate, shortest
from fusion.shaft.pitch import elevation

_UP: Vec = (0.0, 0.0, 1.0)
_DISTAL: Vec = (0.0, -1.0, 0.0)

SHAFT_RANGE_RAD = (math.radians(-80.0), math.radians(-25.0))
"""Elevation of a shaft at address, head down: full-swing clubs lie at about 55 to 65 deg, with room for posture."""
ARM_HIGHEST_RAD = math.radians(-35.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """The zero of one swing."""

    t_s: float
    q_earth_from_forearm_free: Quat
    q_earth_from_club_free: Quat
    wrist: WristAngles
    q_earth_from_forearm: Quat
    q_earth_from_club: Quat
    """Club sensor axes in the address earth."""
    shaft: Vec


def find_address(t_s: float, q_free: tuple[Quat, Quat], forearm: Rest, club: Rest, fit: BodyFit) -> Address | None:
    """Take the zero at an instant of a rest, from both sensors' free orientations then; None if this is no address."""
    q_forearm_free, q_club_free = q_free
    tilt_forearm = shortest(forearm.up_free, _UP)
    tilt_club = shortest(club.up_free, _UP)
    q_tilt_from_forearm = mul(mul(tilt_forearm, q_forearm_free), fit.q_sensor_from_forearm)
    q_tilt_from_club = mul(tilt_club, q_club_free)
    shaft = rotate(q_tilt_from_club, fit.shaft_sensor)
    if not SHAFT_RANGE_RAD[0] <= elevation(shaft) <= SHAFT_RANGE_RAD[1]:
        return None
    if elevation(rotate(q_tilt_from_forearm, _DISTAL)) > ARM_HIGHEST_RAD:
        return None
    heading = relative_heading(q_tilt_from_forearm, mul(q_tilt_from_club, fit.q_sensor_from_hand), fit.side)
    if heading is None:
        return None
    shaft = rotate(about_z(heading), shaft)
    outward = about_z(math.pi / 2 - math.atan2(shaft[1], shaft[0]))
    earth_from_forearm_free = mul(outward, tilt_forearm)
    earth_from_club_free = mul(outward, mul(about_z(heading), tilt_club))
    q_earth_from_forearm = mul(mul(earth_from_forearm_free, q_forearm_free), fit.q_sensor_from_forearm)
    q_earth_from_club = mul(earth_from_club_free, q_club_free)
    wrist = anatomical_angles(
        mul(inverse(q_earth_from_forearm), mul(q_earth_from_club, fit.q_sensor_from_hand)), fit.side
    )
    if not wrist.possible:
        return None
    return Address(
        t_s=t_s,
        q_earth_from_forearm_free=earth_from_forearm_free,
        q_earth_from_club_free=earth_from_club_free,
        wrist=wrist,
        q_earth_from_forearm=q_earth_from_forearm,
        q_earth_from_club=q_earth_from_club,
        shaft=rotate(outward, shaft),
    )
