"""The turn about the vertical between two sensors' earths, from the wrist having two axes and not three.

In ISB terms the wrist turns about the forearm's z axis (flexion) and then about the hand's x axis (deviation); without axial
play the two stay square to each other. With u = forearm z and v = hand x, each in its own earth with z up, and v turned by d:
    (ux vx + uy vy) cos d + (uy vx - ux vy) sin d + uz vz = 0.
The two-axis constraint of Laidig, Lehmann, Begin and Seel (EMBC 2017), solved in closed form at one instant.
"""

from __future__ import annotations

import math

from fusion.joints.wrist import anatomical_angles
from fusion.rotation import Quat, about_z, mul, relative, rotate
from sensors.ids import Side

_X, _Z = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
MIN_LEVERAGE = 0.3
"""With the axes nearer to the vertical than this the heading cannot be seen: an arm held level with the thumb up."""


def relative_heading(q_tilt_from_forearm: Quat, q_tilt_from_hand: Quat, side: Side) -> float | None:
    """Angle d that turns the hand's earth onto the forearm's, radians; None when this pose cannot show it.

    Of the two solutions the one with the straighter wrist is taken.
    """
    ux, uy, uz = rotate(q_tilt_from_forearm, _Z)
    vx, vy, vz = rotate(q_tilt_from_hand, _X)
    a, b, c = ux * vx + uy * vy, uy * vx - ux * vy, uz * vz
    leverage = math.hypot(a, b)
    if leverage < MIN_LEVERAGE:
        return None
    middle, half = math.atan2(b, a), math.acos(max(-1.0, min(1.0, -c / leverage)))

    def strain(d: float) -> float:
        wrist = anatomical_angles(relative(q_tilt_from_forearm, mul(about_z(d), q_tilt_from_hand)), side)
        return abs(wrist.flexion_rad) + abs(wrist.ulnar_rad) + abs(wrist.axial_rad)

    return min(middle + half, middle - half, key=strain)
