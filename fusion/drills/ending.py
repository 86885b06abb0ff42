"""Judges a quantity of a whole swing: how long it was, how long it took.

There is nothing to hear on the way. A length and the time back are told as soon as the top is announced, the tempo once the
ball is past: one short sound, another one for each verdict. An arm that had only
hesitated at what seemed its top is told anew at the true one.
"""

from __future__ import annotations

from typing import Final

from fusion.drills.drill import Drill
from fusion.drills.monitor import Monitor, Short, Sound, verdict_of
from fusion.drills.quantity import SwingFigures
from fusion.outputs.cue import SignalKind
from fusion.outputs.instant import Angles, Doubt, Phase
from fusion.outputs.rep import Verdict

_SIGNALS: Final = {
    Verdict.IN_BAND: SignalKind.IN_BAND,
    Verdict.BELOW: SignalKind.BELOW,
    Verdict.ABOVE: SignalKind.ABOVE,
}


class EndMonitor(Monitor):
    """The same as a `DrillMonitor`, for a quantity that is known once."""

    def __init__(self, drill: Drill, *, cued: bool = True, testing: bool = False) -> None:
        super().__init__(drill, cued=cued, testing=testing)
        self._value: float | None = None
        self._told: Verdict | None = None

    def push(self, t_s: float, phase: Phase, angles: Angles, doubt: Doubt) -> tuple[Sound, ...]:
        """No instant by itself says anything."""
        del t_s, phase, angles, doubt
        return ()

    def figures(self, t_s: float, figures: SwingFigures) -> tuple[Sound, ...]:
        """Take in what can be trusted of the whole swing: at its top, and again when the ball is past."""
        self._value = self.drill.quantity.of_swing(figures)
        if self._value is None:
            return ()
        verdict = verdict_of(self.drill, self._value)
        if not self.cued or verdict is self._told:
            return ()
        self._told = verdict
        return (Short(t_s, _SIGNALS[verdict]),)

    def stop(self, t_s: float) -> tuple[Sound, ...]:
        """Nothing sounds on."""
        del t_s
        return ()

    def verdict(self) -> tuple[Verdict, float | None]:
        """How the swing stood to the band, and its quantity."""
        if self._value is None:
            return Verdict.UNKNOWN, None
        return verdict_of(self.drill, self._value), self._value
