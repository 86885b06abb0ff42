"""The zero of a swing: at a rest over the ball, both sensors' earths become one.

Tilt comes from the mean specific force of the rest, the heading between the sensors from the two-axis wrist, and the common
heading from the shaft: y of the address earth points outward over the ball, z up. From then on only angular rate counts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fusion.calibration.fit import BodyFit
from fusion.club_state import DISTAL
from fusion.joints.heading import relative_heading
from fusion.joints.wrist import WristAngles, anatomical_angles
from fusion.rotation import Quat, Vec, about_z, mul, relative, rotate
from fusion.shaft.pitch import elevation

SHAFT_RANGE_RAD = (math.radians(-80.0), math.radians(-25.0))
"""Elevation of a shaft at address, head down: full-swing clubs lie at about 55 to 65 deg, with room for posture."""
_ROUGHLY_RAD = math.radians(6.0)
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Stance:
    """What a rest gave, before anything is known of the wrist."""

    t_s: float
    q_free: tuple[Quat, Quat]
    """Free orientations of forearm and club sensor at one instant of the rest."""
    q_level_from_free: tuple[Quat, Quat]
    """Their free earths with z up, each with a heading of its own that runs on between rests."""


def may_address(shaft_rise: float) -> bool:
    """Whether a shaft may lie as at address, from the sine of its elevation known to some degrees: a look that costs nothing."""
    low, high = SHAFT_RANGE_RAD
    return math.sin(max(low - _ROUGHLY_RAD, -math.pi / 2)) <= shaft_rise <= math.sin(high + _ROUGHLY_RAD)


def wrist_heading(stance: Stance, fit: BodyFit) -> float | None:
    """Turn of the club's level earth onto the forearm's, as the two-axis wrist shows it; None if this is no address."""
    q_forearm = mul(mul(stance.q_level_from_free[0], stance.q_free[0]), fit.q_sensor_from_forearm)
    q_club = mul(stance.q_level_from_free[1], stance.q_free[1])
    if not SHAFT_RANGE_RAD[0] <= elevation(rotate(q_club, fit.shaft_sensor)) <= SHAFT_RANGE_RAD[1]:
        return None
    if elevation(rotate(q_forearm, DISTAL)) > ARM_HIGHEST_RAD:
        return None
    return relative_heading(q_forearm, mul(q_club, fit.q_sensor_from_hand), fit.side)


def take_address(stance: Stance, fit: BodyFit, heading_rad: float) -> Address | None:
    """Take the zero with the heading between the sensors known; None if the wrist would be where no wrist can be."""
    q_club_level = mul(stance.q_level_from_free[1], stance.q_free[1])
    shaft = rotate(about_z(heading_rad), rotate(q_club_level, fit.shaft_sensor))
    outward = about_z(math.pi / 2 - math.atan2(shaft[1], shaft[0]))
    earth_from_forearm_free = mul(outward, stance.q_level_from_free[0])
    earth_from_club_free = mul(outward, mul(about_z(heading_rad), stance.q_level_from_free[1]))
    q_earth_from_forearm = mul(mul(earth_from_forearm_free, stance.q_free[0]), fit.q_sensor_from_forearm)
    q_earth_from_club = mul(earth_from_club_free, stance.q_free[1])
    wrist = anatomical_angles(relative(q_earth_from_forearm, mul(q_earth_from_club, fit.q_sensor_from_hand)), fit.side)
    if not wrist.possible:
        return None
    return Address(
        t_s=stance.t_s,
        q_earth_from_forearm_free=earth_from_forearm_free,
        q_earth_from_club_free=earth_from_club_free,
        wrist=wrist,
        q_earth_from_forearm=q_earth_from_forearm,
        q_earth_from_club=q_earth_from_club,
        shaft=rotate(outward, shaft),
    )
