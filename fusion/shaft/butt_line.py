"""Where the shaft line, carried past the butt, meets the ground: the coach's line on a photograph, as a number.

The model, and what it leaves out: at address the club's head lies on the ball line. The club's length and its direction then
give the butt, the hands lie a little below it, and a straight lead arm of known length leads from them to a hub, the
lead shoulder. The turn of the chest, which two sensors do not see, carries the hub outward over the ball as the arm goes
back; `HUB_OUT_M` is how far, `HUB_SD_M` what that may be wrong. Lengths not given are common ones (7-iron, adult), common
practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fusion.rotation import Vec, angle_between

CLUB_LENGTH_M = 0.94
ARM_LENGTH_M = 0.62
"""Lead shoulder to the middle of the hands."""
GRIP_M = 0.08
"""Butt to the middle of the lead hand."""
HUB_OUT_M = 0.12
"""With the arm a right angle from where it hung: half a shoulder's breadth (0.2 m) turned by 50 deg or so, less what the spine's
tilt takes. Plausible, no source; on the independent model it takes out the mean error of 0.14 m at lead arm level."""
HUB_SD_M = 0.08
LENGTH_SD_M = 0.03
"""Of a length that was given; one that was assumed is known half as well."""
LEAST_DIP = 0.25
"""Sine of the least angle below the horizontal at which the butt end must point: flatter lines meet the ground far away."""
FARTHEST_M = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ButtLine:
    """One address. Directions are unit vectors in the address earth (y outward, z up, origin at the head)."""

    hub_m: Vec
    arm_length_m: float
    sd_m: float
    """Of the hub and the lengths, at the hands."""
    arm: Vec | None = None
    """Elbow to wrist at address; None leaves the hub where it is."""

    @staticmethod
    def at_address(shaft: Vec, arm: Vec, club_length_m: float = 0.0, arm_length_m: float = 0.0) -> ButtLine:
        """Place the hub; `shaft` from butt to head, `arm` from elbow to wrist; a length of 0 is unknown."""
        club_m = club_length_m or CLUB_LENGTH_M
        arm_m = arm_length_m or ARM_LENGTH_M
        sd_m = sum((LENGTH_SD_M if given else 2 * LENGTH_SD_M) ** 2 for given in (club_length_m, arm_length_m)) ** 0.5
        reach = club_m - GRIP_M
        x, y, z = (-reach * s - arm_m * a for s, a in zip(shaft, arm, strict=True))
        return ButtLine(hub_m=(x, y, z), arm_length_m=arm_m, sd_m=sd_m, arm=arm)

    def of(self, shaft: Vec, arm: Vec) -> float | None:
        """Distance from the ball line, + inside (toward the player); None where the butt does not point to the ground."""
        if not dips(shaft):
            return None
        y, z = self.hub_m[1] + self.arm_length_m * arm[1], self.hub_m[2] + self.arm_length_m * arm[2]
        if z <= 0:
            return None
        if self.arm is not None:
            y += HUB_OUT_M * math.sin(min(angle_between(self.arm, arm), math.pi / 2))
        inside = -(y - z / shaft[2] * shaft[1])
        return inside if abs(inside) <= FARTHEST_M else None


def dips(shaft: Vec) -> bool:
    """Whether the butt points down steeply enough for a line at all, `shaft` from butt to head."""
    return shaft[2] >= LEAST_DIP
