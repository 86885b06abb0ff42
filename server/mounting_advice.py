"""How the fit found the sensors to sit, and how well it knows each thing, in words."""

from __future__ import annotations

import math
from typing import Final

from fusion.outputs.fit import ArmSide, Constant, Mounting
from sensors.ids import Role

CONSTANT_WORDS: Final = {
    Constant.FOREARM_AXIS: "forearm's long axis",
    Constant.FOREARM_ROLL: "forearm sensor's roll about the arm",
    Constant.BEND_AXIS: "wrist's bend axis",
    Constant.HINGE_AXIS: "wrist's hinge axis",
    Constant.SHAFT: "shaft",
    Constant.CLIP_ROLL: "clip's roll against the face at address",
    Constant.HAND_CLUB: "hand on the club",
}
_SIDE_WORDS: Final = {
    ArmSide.BACK: "back",
    ArmSide.THUMB: "thumb side",
    ArmSide.PALM: "palm side",
    ArmSide.LITTLE_FINGER: "little-finger side",
}
_WHAT: Final = {Role.FOREARM: "forearm sensor", Role.CLUB: "club's sensor"}
_ALONG: Final = {Role.FOREARM: "up the arm", Role.CLUB: "up the shaft"}
_HARMLESS: Final = "All figures are true all the same; turn it round another time if you like, and fit it again."


def mounting_sentence(mounting: Mounting) -> str:
    """Say how a sensor sits, good or not."""
    side = "" if mounting.side is None else f", its top on the {_SIDE_WORDS[mounting.side]} of the arm"
    off = math.degrees(mounting.off_rad)
    return (
        f"The {mounting.role.value} sensor's {mounting.axis} axis runs {_ALONG[mounting.role]} within {off:.0f}°{side}."
    )


def mounting_advice(mounting: Mounting) -> str:
    """Name what is not as it is meant to be worn; "" if all is, or nothing is known of how this kind is meant to sit."""
    what = _WHAT[mounting.role]
    if mounting.upside_down:
        return f"The {what} is on upside down. {_HARMLESS}"
    if mounting.side not in (None, ArmSide.BACK):
        return f"The {what} looks to the {_SIDE_WORDS[mounting.side]} of the arm and not its back. {_HARMLESS}"
    return ""
