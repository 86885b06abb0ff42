"""Shaft elevation and shaft pitch."""

from __future__ import annotations

import math

from fusion.rotation import Vec

MIN_PROJECTION = 0.5
"""Below this length of the projected unit shaft its angle is mostly error: the shaft points along the line of view."""


def elevation(direction: Vec) -> float:
    """Angle of a direction to the horizontal, radians, + up."""
    up = direction[2]
    return math.asin(up if -1.0 <= up <= 1.0 else math.copysign(1.0, up))


def pitch(shaft: Vec) -> float | None:
    """Angle of the shaft line to the horizontal as seen along the target line; None when foreshortened.

    `shaft` points from butt to head in the address earth: y outward, from the player over the ball, and z up. The line is
    taken from its lower to its upper end and measured from the horizontal toward the player: at address this is the lie
    of the shaft, pi/2 is upright, more than pi/2 leans over the ball. Range [0, pi].
    """
    _, y, z = shaft
    if math.hypot(y, z) < MIN_PROJECTION:
        return None
    return math.atan2(z, -y) if z >= 0 else math.atan2(-z, y)
