"""What a swing's monitors were told, kept so that another drill can be tried on it: bounded, and the same to the last bit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from fusion.drills.monitor import Edge, Monitor, Short, Sound
from fusion.drills.quantity import SwingFigures
from fusion.outputs.cue import SignalKind
from fusion.outputs.instant import Angles, Doubt, Phase
from fusion.outputs.rep import Verdict

MAX_INSTANTS: Final = 20_000
"""The table of phases lets a swing last some seconds; at 800 samples a second this is 25."""

Told = tuple[float, Phase, Angles, Doubt] | tuple[float, SwingFigures]


@dataclass(frozen=True, slots=True)
class Trial:
    """What a monitor made of a swing."""

    verdict: Verdict
    worst: float | None
    spans: tuple[tuple[float, float, float], ...]
    """When the cue would have sounded: from, to, and the error with which it began."""
    shorts: tuple[tuple[float, SignalKind], ...]


class SwingLog:
    """One swing, from its takeaway to the moment it became a rep."""

    def __init__(self) -> None:
        self.told: list[Told] = []
        self.cut = False
        """It lasted longer than what is kept."""

    def push(self, t_s: float, phase: Phase, angles: Angles, doubt: Doubt) -> None:
        """Keep an instant."""
        if len(self.told) >= MAX_INSTANTS:
            self.cut = True
        else:
            self.told.append((t_s, phase, angles, doubt))

    def figures(self, t_s: float, figures: SwingFigures) -> None:
        """Keep what was said of the whole swing; there are a handful."""
        self.told.append((t_s, figures))

    def trial(self, make: Callable[[], Monitor]) -> Trial:
        """Let another monitor watch the same swing."""
        monitor = make()
        sounds: list[Sound] = []
        last_s = 0.0
        for told in self.told:
            last_s = told[0]
            sounds.extend(monitor.push(*told) if len(told) == 4 else monitor.figures(*told))
        sounds.extend(monitor.stop(last_s))
        verdict, worst = monitor.verdict()
        return Trial(verdict, worst, _spans(sounds), tuple((s.t_s, s.kind) for s in sounds if isinstance(s, Short)))


def _spans(sounds: list[Sound]) -> tuple[tuple[float, float, float], ...]:
    spans: list[tuple[float, float, float]] = []
    began: Edge | None = None
    for sound in sounds:
        if not isinstance(sound, Edge):
            continue
        if sound.sounding:
            began = sound
        elif began is not None:
            spans.append((began.t_s, sound.t_s, began.error_rad))
    return tuple(spans)
