"""A drill: one quantity, the phases in which it counts, and the band it should stay in."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fusion.outputs import Angles, Phase


class Quantity(StrEnum):
    """What a drill watches."""

    BEND_CHANGE = "bend_change"
    SHAFT_PITCH = "shaft_pitch"
    FACE_TWIST = "face_twist"

    def of(self, angles: Angles) -> float | None:
        """Pick the quantity's value in radians, None when it is not known."""
        match self:
            case Quantity.BEND_CHANGE:
                return angles.bend_change_rad
            case Quantity.SHAFT_PITCH:
                return angles.shaft_pitch_rad
            case Quantity.FACE_TWIST:
                return angles.face_twist_rad


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill:
    """Targets are the coach's to set and no norm. A band narrower than twice the quantity's error would cue noise."""

    name: str
    feel: str
    """What the student should feel, in plain words."""
    quantity: Quantity
    phases: tuple[Phase, ...]
    low_rad: float
    high_rad: float
    hysteresis_rad: float
    """The cue stops only this far inside the edge, so that it does not chatter."""
