"""A drill: one quantity, the phases in which it counts, the band it should stay in, and how the cue is rationed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from fusion.drills.course import Block
from fusion.outputs import Angles, Phase


class Quantity(StrEnum):
    """What a drill watches."""

    BEND_CHANGE = "bend_change"
    BEND = "bend"
    SHAFT_PITCH = "shaft_pitch"
    FACE_TWIST = "face_twist"
    ROLL_CHANGE = "roll_change"

    def of(self, angles: Angles) -> float | None:
        """Pick the quantity's value in radians, None when it is not known."""
        match self:
            case Quantity.BEND_CHANGE:
                return angles.bend_change_rad
            case Quantity.BEND:
                return angles.bend_rad
            case Quantity.SHAFT_PITCH:
                return angles.shaft_pitch_rad
            case Quantity.FACE_TWIST:
                return angles.face_twist_rad
            case Quantity.ROLL_CHANGE:
                return angles.roll_change_rad


STATED_ERROR_DEG: Final[dict[Quantity, float]] = {
    Quantity.BEND_CHANGE: 2.4,
    Quantity.BEND: 3.5,
    Quantity.SHAFT_PITCH: 1.3,
    Quantity.FACE_TWIST: 1.5,
    Quantity.ROLL_CHANGE: 1.7,
}
"""Root mean square error at the mark where it is largest; the table in docs/accuracy.md."""


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
    aim: str = ""
    """What a good rep looks like, in one sentence."""
    blocks: tuple[Block, ...] = ()
    """In order; none: swing on, every rep is cued."""
