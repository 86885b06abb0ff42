"""What a drill can watch: in which unit it is shown, how well it is known, and when.

Rule 1: inside, a quantity is in radians, seconds, or a bare ratio; `Unit` says how it is written and shown.
Rule 2: what is only known once (`at_top`, or after the ball) has no value on the way, so nothing can sound on the way.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from fusion.outputs.instant import Angles


class Unit(StrEnum):
    """How a quantity is written in a drill's file and shown."""

    DEG = "deg"
    S = "s"
    RATIO = "ratio"

    def inside(self, shown: float) -> float:
        """From as it is written to as it is computed with."""
        return math.radians(shown) if self is Unit.DEG else shown

    def shown(self, inside: float) -> float:
        """The other way."""
        return math.degrees(inside) if self is Unit.DEG else inside

    @property
    def words(self) -> str:
        """After a number, in a sentence."""
        return {Unit.DEG: " deg", Unit.S: " s", Unit.RATIO: ""}[self]


@dataclass(frozen=True, slots=True, kw_only=True)
class SwingFigures:
    """What is said of a whole swing, as far as it is known yet."""

    arm_length_rad: float | None
    """Angle between the lead forearm at address and at the top."""
    shaft_length_rad: float | None
    """How far the shaft is past level at the top (+), or short of it (-)."""
    backswing_s: float | None
    """Takeaway to top."""
    tempo: float | None = None
    """Backswing time over downswing time; None before the ball is past."""


class Quantity(StrEnum):
    """What a drill watches."""

    BEND_CHANGE = "bend_change"
    BEND = "bend"
    SHAFT_PITCH = "shaft_pitch"
    FACE_TWIST = "face_twist"
    ROLL_CHANGE = "roll_change"
    ARM_LENGTH = "arm_length"
    SHAFT_LENGTH = "shaft_length"
    BACKSWING_TIME = "backswing_time"
    TEMPO = "tempo"

    @property
    def unit(self) -> Unit:
        """How it is written."""
        return {Quantity.TEMPO: Unit.RATIO, Quantity.BACKSWING_TIME: Unit.S}.get(self, Unit.DEG)

    @property
    def at_end(self) -> bool:
        """It is known once a swing: at the top, or after the ball."""
        return self in _AT_END

    def of(self, angles: Angles) -> float | None:
        """Pick its value at an instant, in radians; None when it is not known."""
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
            case _:
                return None

    def of_swing(self, figures: SwingFigures) -> float | None:
        """Pick its value for a whole swing; None when it is not known, or is none of a whole swing."""
        match self:
            case Quantity.ARM_LENGTH:
                return figures.arm_length_rad
            case Quantity.SHAFT_LENGTH:
                return figures.shaft_length_rad
            case Quantity.BACKSWING_TIME:
                return figures.backswing_s
            case Quantity.TEMPO:
                return figures.tempo
            case _:
                return None


_AT_END: Final = frozenset((Quantity.ARM_LENGTH, Quantity.SHAFT_LENGTH, Quantity.BACKSWING_TIME, Quantity.TEMPO))

STATED_ERROR: Final[dict[Quantity, float]] = {
    Quantity.BEND_CHANGE: 2.0,
    Quantity.BEND: 3.3,
    Quantity.SHAFT_PITCH: 1.1,
    Quantity.FACE_TWIST: 1.5,
    Quantity.ROLL_CHANGE: 1.7,
    Quantity.ARM_LENGTH: 0.7,
    Quantity.SHAFT_LENGTH: 0.5,
    Quantity.BACKSWING_TIME: 0.05,
    Quantity.TEMPO: 0.2,
}
"""Root mean square error, in the quantity's unit, at the mark where it is largest; the tables in docs/accuracy.md."""


def least_band(quantity: Quantity) -> float:
    """Narrowest band that does not cue noise, in the quantity's unit: twice its error."""
    return 2 * STATED_ERROR[quantity]
