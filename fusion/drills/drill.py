"""A drill: one quantity, the phases in which it counts, the band it should stay in, and how the cue is rationed."""

from __future__ import annotations

from dataclasses import dataclass

from fusion.drills.course import Block
from fusion.drills.quantity import Quantity
from fusion.outputs.instant import Phase


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill:
    """Targets are the coach's to set and no norm. A band narrower than twice the quantity's error would cue noise.

    `low`, `high`, `hysteresis` and `warn` are in radians, seconds, or a ratio, as the quantity is.
    """

    name: str
    feel: str
    """What the student should feel, in plain words."""
    quantity: Quantity
    phases: tuple[Phase, ...]
    """None for a quantity of a whole swing."""
    low: float
    high: float
    hysteresis: float
    """The cue stops only this far inside the edge, so that it does not chatter."""
    warn: float | None = None
    """So far inside the edge it ticks; None: it does not."""
    aim: str = ""
    """What a good rep looks like, in one sentence."""
    blocks: tuple[Block, ...] = ()
    """In order; none: swing on, every rep is cued."""

    def outside(self, value: float) -> float:
        """How far a value is outside the band, signed: negative below it, 0 inside."""
        return min(value - self.low, 0.0) + max(value - self.high, 0.0)

    def margin(self, value: float) -> float:
        """How far inside the nearer edge; negative outside."""
        return min(value - self.low, self.high - value)
