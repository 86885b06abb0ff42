"""Gathers the changes of one swing into a rep, first as it happens and again, refined, when it is over."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from fusion.measure import Instant
from fusion.outputs.instant import Angles, Phase
from fusion.outputs.rep import Checkpoint, RepFlag
from fusion.swing.detector import Step
from fusion.swing.phases import CHECKPOINTS
from fusion.swing.refine import angles_at, refine


@dataclass(slots=True)
class RepBuilder:
    """One swing in the making."""

    address_s: float
    takeaway_s: float | None = None
    checkpoints: dict[Phase, Checkpoint] = field(default_factory=dict)
    finish_s: float | None = None
    top: Instant | None = None

    def note(self, step: Step, instants: Sequence[Instant]) -> None:
        """Take in a change of phase; `instants` reach to now."""
        phase = step.phase
        if phase is Phase.TAKEAWAY:
            self.takeaway_s = step.t_s
            self.checkpoints.clear()
            self.top = None
        elif phase in CHECKPOINTS and (phase not in self.checkpoints or phase is Phase.TOP):
            # A level passed again after a hesitation was passed before; the top is the last one.
            self.checkpoints[phase] = Checkpoint(t_s=step.t_s, angles=angles_at(instants, step.t_s))
        if phase is Phase.TOP:
            self.top = step.instant

    def refine(self, instants: Sequence[Instant]) -> None:
        """Date and read all marks again, now that samples on both sides are at hand."""
        if self.takeaway_s is None:
            return
        refined = refine(instants, self.takeaway_s, {phase: mark.t_s for phase, mark in self.checkpoints.items()})
        self.takeaway_s = refined.takeaway_s
        self.checkpoints = {
            phase: replace(mark, t_s=refined.marks[phase], angles=angles_at(instants, refined.marks[phase]))
            for phase, mark in self.checkpoints.items()
        }

    @property
    def backswing_s(self) -> float | None:
        """Takeaway to top; None before the top."""
        top = self.checkpoints.get(Phase.TOP)
        return top.t_s - self.takeaway_s if top is not None and self.takeaway_s is not None else None

    @property
    def downswing_s(self) -> float | None:
        """Top to impact; None when the club never came to the ball."""
        top, impact = self.checkpoints.get(Phase.TOP), self.checkpoints.get(Phase.IMPACT)
        return impact.t_s - top.t_s if top is not None and impact is not None else None

    @property
    def arm_length_rad(self) -> float | None:
        """Angle between the lead forearm at address and at the top."""
        return self.top.arm_off_rad if self.top is not None else None

    @property
    def shaft_length_rad(self) -> float | None:
        """How far the shaft is past level at the top (+), or short of it (-)."""
        return shaft_past_level(self.top.angles, self.top.shaft_trail) if self.top is not None else None

    def flags(self, *, struck: bool | None) -> tuple[RepFlag, ...]:
        """Find what is particular; `struck` is None when the sensors cannot tell."""
        half = (RepFlag.HALF_SWING,) if Phase.ARM_LEVEL not in self.checkpoints else ()
        return (*half, RepFlag.NO_STRIKE) if struck is False else half


def shaft_past_level(angles: Angles, shaft_trail: float) -> float | None:
    """Angle that the shaft at the top has gone past level, pointing to the target; negative short of it.

    A shaft that points to the target side is short by its elevation; one that has not yet come upright by the supplement.
    """
    elevation = angles.shaft_elevation_rad
    if elevation is None:
        return None
    return -elevation if shaft_trail < 0 else elevation - math.pi
