"""The heading between forearm and hand, shown better as the arm rises.

At address the wrist's missing third axis shows it (`heading.py`), but a club taken a little turned in the hand looks the same
there: both turn the hand about the forearm. They part as the arm comes level. What is turned about the vertical then no longer
lies along the forearm, what is turned in the hand stays: the axial angle of the wrist, which has next to none of its own, runs
off by the heading's error times how much its lever has changed.

    axial(t) - axial(address) = (lever(t) - lever(address)) (-d) + play        d: what the hand is yet to be turned by

One number is looked for and play is slow, so it is taken from the newest instant alone, drawn toward zero by how little is
known (the most probable d for normal d and play), and kept from the moment the lead arm is level: what comes after is loaded
by the change of direction. The constraint is that of Laidig, Lehmann, Begin and Seel (EMBC 2017), at two instants.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from fusion.joints.wrist import WristAngles, lead_sign
from fusion.rotation import Quat
from sensors.ids import Side

HEADING_SD_RAD: Final = math.radians(2.5)
"""Of a heading that the wrist shows at one address: its play, a club taken a little turned, skin. By simulation, no source."""
PLAY_SD_RAD: Final = math.radians(2.0)
"""Of the axial angle between address and a level arm: play of the wrist, slip, skin. By simulation, no source."""
_MOST_RAD: Final = 2 * HEADING_SD_RAD


class Levers(NamedTuple):
    """How far each wrist angle turns for a turn of the hand about the vertical; the same meaning on either arm."""

    bend: float
    hinge: float
    axial: float


def levers(q_earth_from_forearm: Quat, q_earth_from_hand: Quat, wrist: WristAngles, side: Side) -> Levers:
    """Take the vertical apart along the wrist's three axes: the forearm's z, the x between, the hand's y (not square to z)."""
    w, x, y, z = q_earth_from_forearm
    x_up, y_up, z_up = 2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)
    w, x, y, z = q_earth_from_hand
    hand_y_up = 2 * (y * z + w * x)
    sign = lead_sign(side)
    sine = math.sin(sign * wrist.ulnar_rad)
    """Of the angle by which the hand's y is off the square to the forearm's z."""
    square = 1.0 - sine * sine
    between = math.cos(wrist.flexion_rad) * x_up + math.sin(wrist.flexion_rad) * y_up
    return Levers((z_up - sine * hand_y_up) / square, sign * between, sign * (hand_y_up - sine * z_up) / square)


class Settling:
    """What the heading taken at one address is yet to be turned by."""

    def __init__(self, at_address: Levers) -> None:
        self.at_address = at_address
        self.turn_rad = 0.0
        """Of the hand about the vertical, to be added to the heading taken."""
        self._settled = False

    def push(self, axial_change_rad: float, axial_lever: float, *, arm_level: bool) -> float:
        """Look again: `axial_change_rad` since address; nothing changes once the arm was level. Gives `turn_rad`."""
        if not self._settled:
            self._settled = arm_level
            lever = axial_lever - self.at_address.axial
            turn_rad = -axial_change_rad * lever / (lever * lever + (PLAY_SD_RAD / HEADING_SD_RAD) ** 2)
            self.turn_rad = max(-_MOST_RAD, min(_MOST_RAD, turn_rad))
        return self.turn_rad
