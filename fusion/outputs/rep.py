"""What is said of a swing: its phases, and the rep that came of it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fusion.drills.quantity import Quantity
from fusion.outputs.instant import NO_SPREAD, Angles, Doubt, Phase, Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseChange:
    """A phase began at `t_s` (the sample's time; it is announced a little later)."""

    arrival_ns: int
    t_s: float
    phase: Phase


class Verdict(StrEnum):
    """How a rep stood to its drill."""

    IN_BAND = "in_band"
    BELOW = "below"
    """Left the band on its low side (for bend: cupped too far)."""
    ABOVE = "above"
    UNKNOWN = "unknown"
    """The angle could not be trusted during the drill's phases."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Checkpoint:
    """The angles as a mark of the swing was passed."""

    t_s: float
    angles: Angles
    spread: Spread = NO_SPREAD
    pitch_per_bend: float | None = None
    """Sensitivity: change of shaft pitch for a change of bend, all else held; dimensionless, negative: bowing flattens."""
    pitch_per_roll: float | None = None
    toe_rad: float | None = None
    """Face at a level shaft: 0 with the toe up, + shut, - open."""


class RepFlag(StrEnum):
    """What is particular about a rep."""

    HALF_SWING = "half_swing"
    """The lead arm never came to level."""
    NO_STRIKE = "no_strike"
    """No blow was felt at impact: a practice swing, or a very clean one on a tee."""
    CLIP_TURNED = "clip_turned"
    """The club's sensor sits otherwise than at the fit: bend and hinge are known less well, as their spread says."""
    STRAP_TURNED = "strap_turned"
    """The same of the forearm's sensor."""
    REGRIPPED = "regripped"
    """The club was let go, or is held otherwise, since the rep before: bend and hinge may have another zero, their change since
    address has not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """How a rep stood to a drill that was watched beside the one in force."""

    drill: str
    quantity: Quantity
    verdict: Verdict
    worst: float | None
    """As `Rep.worst`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rep:
    """One swing that reached the top and came down."""

    arrival_ns: int
    index: int
    """1 for the first rep of the practice."""
    address_s: float
    takeaway_s: float
    checkpoints: dict[Phase, Checkpoint]
    """By SHAFT_LEVEL, ARM_LEVEL, TOP and IMPACT; a mark that was not passed is missing."""
    backswing_s: float
    downswing_s: float | None
    verdict: Verdict
    worst: float | None
    """The drill quantity at its furthest outside the band, or nearest to an edge when it stayed inside; in radians, seconds or
    as a ratio, as `quantity` is."""
    out_s: float
    """How long the drill quantity was outside its band."""
    doubt: Doubt
    finish_s: float | None = None
    """When the swing was over; None while that is still to come."""
    arm_length_rad: float | None = None
    """Swing length at the top: angle between the lead forearm at address and at the top."""
    shaft_length_rad: float | None = None
    """Swing length at the top: how far the shaft is past level (+) or short of it (-)."""
    flags: tuple[RepFlag, ...] = ()
    cued: bool = True
    """Whether the cue was allowed to sound: what a player does without it is kept apart."""
    testing: bool = False
    """A rep of a test: neither cue nor figures were given."""
    paused: bool = False
    """Swung, wholly or in part, while the player had paused: it counts for no block."""
    drill: str = ""
    """Name of the drill it was judged by."""
    quantity: Quantity = Quantity.BEND_CHANGE
    """What that drill watches."""
    second: Judged | None = None
    """How it stood to the second drill, if there was one."""

    @property
    def tempo(self) -> float | None:
        """Backswing time over downswing time."""
        return self.backswing_s / self.downswing_s if self.downswing_s else None


@dataclass(frozen=True, slots=True, kw_only=True)
class RepRefined:
    """A rep given out before, by its index, now that the swing is over: for the record.

    Every mark is dated again from samples on both sides of it, its angles read there by a local fit, and `finish_s` is known.
    It replaces the rep of the same index; one whose swing was cut off by the end of the data never gets it.
    """

    arrival_ns: int
    rep: Rep
