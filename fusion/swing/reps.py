"""Gathers the changes of one swing into a rep. A swing counts once it has reached the top."""

from __future__ import annotations

from dataclasses import dataclass, field

from fusion.outputs import Checkpoint, Phase
from fusion.swing.detector import Step
from fusion.swing.phases import CHECKPOINTS


@dataclass(slots=True)
class RepBuilder:
    """One swing in the making."""

    address_s: float
    takeaway_s: float | None = None
    checkpoints: dict[Phase, Checkpoint] = field(default_factory=dict)

    def note(self, step: Step) -> None:
        """Take in a change of phase."""
        if step.phase is Phase.TAKEAWAY:
            self.takeaway_s = step.t_s
            self.checkpoints.clear()
        elif step.phase in CHECKPOINTS:
            self.checkpoints[step.phase] = Checkpoint(t_s=step.t_s, angles=step.instant.angles)

    def backswing_s(self) -> float | None:
        """Takeaway to top; None before the top."""
        top = self.checkpoints.get(Phase.TOP)
        return top.t_s - self.takeaway_s if top is not None and self.takeaway_s is not None else None

    def downswing_s(self) -> float | None:
        """Top to impact; None when the club never came to the ball."""
        top, impact = self.checkpoints.get(Phase.TOP), self.checkpoints.get(Phase.IMPACT)
        return impact.t_s - top.t_s if top is not None and impact is not None else None
