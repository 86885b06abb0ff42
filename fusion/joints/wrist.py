"""Wrist angles by the ISB recommendation (Wu et al. 2005, J Biomech 38:981-992): forearm to hand, intrinsic Z-X'-Y''.

Segment axes: Y proximal, X volar, Z to the body's right. About Z, flexion is positive on both arms; about X a positive turn
is ulnar deviation on a right arm and radial on a left one, so a left arm's X and Y angles are negated.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from fusion.rotation import Quat, exp, mul
from sensors.ids import Side

_LEFT = Side.LEFT
"""Its class would take as long to look it up as all else in `lead_sign`, which is asked five times an instant."""

# Largest reported adult means of passive motion plus ten degrees: beyond them the fit or the grip is wrong, not the wrist.
# Flexion 93, extension 86, radial 26, ulnar 41 in the table of wrist motion in Norkin and White (title from memory),
# columns Boone and Azen, Green and Wolf, Walker, Macedo and Magee.
MAX_FLEXION_RAD = math.radians(103.0)
MAX_EXTENSION_RAD = math.radians(96.0)
MAX_RADIAL_RAD = math.radians(36.0)
MAX_ULNAR_RAD = math.radians(51.0)


class WristAngles(NamedTuple):
    """Radians; the same meaning on either arm."""

    flexion_rad: float
    """+ flexion (bowed), - extension (cupped)."""
    ulnar_rad: float
    """+ ulnar, - radial deviation."""
    axial_rad: float
    """+ pronation sense. A wrist has next to none: what appears here is error or play."""

    @property
    def possible(self) -> bool:
        """Inside what adult wrists reach, with ten degrees to spare."""
        return (
            -MAX_EXTENSION_RAD <= self.flexion_rad <= MAX_FLEXION_RAD
            and -MAX_RADIAL_RAD <= self.ulnar_rad <= MAX_ULNAR_RAD
        )


def lead_sign(side: Side) -> float:
    """Turns of a right arm and its club keep their sign about the forearm's y and the hand's x; a left arm mirrors them: -1.

    The same holds for the face about butt-to-head, + shut, and for the thumb along z.
    """
    return -1.0 if side is _LEFT else 1.0


def anatomical_angles(q_forearm_from_hand: Quat, side: Side) -> WristAngles:
    """Decode a wrist rotation. At 90 degrees of deviation (no wrist gets there) flexion and axial merge."""
    w, x, y, z = q_forearm_from_hand
    # Of R = Rz(a) Rx(b) Ry(c): R21 = sin b, R01 = -sin a cos b, R11 = cos a cos b, R20 = -cos b sin c, R22 = cos b cos c.
    sine = 2 * (y * z + w * x)
    about_x = math.asin(sine if -1.0 <= sine <= 1.0 else math.copysign(1.0, sine))
    xx = x * x
    about_z = math.atan2(-2 * (x * y - w * z), 1 - 2 * (xx + z * z))
    about_y = math.atan2(-2 * (x * z - w * y), 1 - 2 * (xx + y * y))
    if side is _LEFT:
        return WristAngles(about_z, -about_x, -about_y)
    return WristAngles(about_z, about_x, about_y)


def wrist_rotation(*, flexion_rad: float, ulnar_rad: float, axial_rad: float, side: Side) -> Quat:
    """Build q_forearm_from_hand of given angles: the inverse of `anatomical_angles`."""
    sign = lead_sign(side)
    about_z = exp((0.0, 0.0, flexion_rad))
    about_x = exp((sign * ulnar_rad, 0.0, 0.0))
    about_y = exp((0.0, sign * axial_rad, 0.0))
    return mul(mul(about_z, about_x), about_y)
