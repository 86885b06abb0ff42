"""Watches the drill's quantity through a swing: when the cue sounds, and how the rep is judged.

The cue starts at the sample that leaves the band, or is about to when it is begun early (`lead_s`), and stops at the one that is
back inside by the hysteresis and about to stay there, or when the drill's phases are over, or when the angle can no longer be
trusted. The verdict is of what was, never of what was about to be.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass

from fusion.drills.ahead import LookAhead
from fusion.drills.drill import Drill
from fusion.drills.edge_tick import EdgeTick
from fusion.drills.quantity import SwingFigures
from fusion.outputs.cue import SignalKind
from fusion.outputs.instant import Angles, Doubt, Phase
from fusion.outputs.rep import Verdict


@dataclass(frozen=True, slots=True)
class Edge:
    """The cue starts or stops at `t_s`."""

    t_s: float
    sounding: bool
    error_rad: float


@dataclass(frozen=True, slots=True)
class Short:
    """A short sound, once."""

    t_s: float
    kind: SignalKind


Sound = Edge | Short


class Monitor(ABC):
    """One swing against one drill. One that is not `cued` is judged all the same; `testing` says that figures are hidden, too."""

    def __init__(self, drill: Drill, *, cued: bool, testing: bool) -> None:
        self.drill = drill
        self.cued = cued
        self.testing = testing
        self.paused = False
        """The player has paused since it began."""
        self.error_rad = 0.0
        """Present distance outside the band, signed; 0 inside it or out of the drill's phases."""
        self.cue_error_rad = 0.0
        """The same, or what is about to be while that is further out: what the cue sounds."""
        self.out_s = 0.0

    def pause(self) -> None:
        """Sound no more; a cue that sounds stops with the next instant."""
        self.paused, self.cued = True, False

    @abstractmethod
    def push(self, t_s: float, phase: Phase, angles: Angles, doubt: Doubt) -> tuple[Sound, ...]:
        """Advance by one instant."""

    @abstractmethod
    def figures(self, t_s: float, figures: SwingFigures) -> tuple[Sound, ...]:
        """Take in what can be trusted of the whole swing: at its top, and again when the ball is past."""

    @abstractmethod
    def stop(self, t_s: float) -> tuple[Sound, ...]:
        """The swing is over or was none."""

    @abstractmethod
    def verdict(self) -> tuple[Verdict, float | None]:
        """How the swing stood to the band, and its quantity at the worst moment."""


class DrillMonitor(Monitor):
    """For a quantity that has a value all the way."""

    def __init__(self, drill: Drill, *, cued: bool = True, testing: bool = False, lead_s: float = 0.0) -> None:
        super().__init__(drill, cued=cued, testing=testing)
        self.sounding = False
        self._ahead = LookAhead(lead_s)
        self._tick = EdgeTick(drill.warn, drill.hysteresis)
        self._last_t_s: float | None = None
        self._worst: float | None = None
        self._worst_margin = float("inf")
        self._known = 0
        self._unknown = 0

    def push(self, t_s: float, phase: Phase, angles: Angles, doubt: Doubt) -> tuple[Sound, ...]:
        """Advance by one instant."""
        step_s = t_s - self._last_t_s if self._last_t_s is not None else 0.0
        self._last_t_s = t_s
        drill = self.drill
        value = None
        if phase in drill.phases:
            value = drill.quantity.of(angles) if doubt is Doubt.NONE else None
            if value is None:
                self._unknown += 1
        if value is None:
            self.error_rad = self.cue_error_rad = 0.0
            self._ahead.forget()
            self._tick.forget()
            return self._set(t_s, sounding=False)
        self._known += 1
        margin = drill.margin(value)
        if margin < self._worst_margin:
            self._worst, self._worst_margin = value, margin
        self.error_rad = drill.outside(value)
        ahead = self._ahead.push(t_s, value)
        self.cue_error_rad = max(self.error_rad, drill.outside(ahead), key=abs)
        margin = min(margin, drill.margin(ahead))
        if self.error_rad:
            self.out_s += step_s
        ticks = self._tick.push(phase, margin) and self.cued
        edge = self._set(t_s, sounding=margin < (drill.hysteresis if self.sounding else 0.0))
        return (*edge, Short(t_s, SignalKind.EDGE)) if ticks else edge

    def figures(self, t_s: float, figures: SwingFigures) -> tuple[Sound, ...]:
        """Nothing of the whole swing matters here."""
        del t_s, figures
        return ()

    def stop(self, t_s: float) -> tuple[Sound, ...]:
        """The swing is over or was none."""
        self.error_rad = self.cue_error_rad = 0.0
        return self._set(t_s, sounding=False)

    def verdict(self) -> tuple[Verdict, float | None]:
        """How the swing stood to the band, and its quantity at the worst moment."""
        if self._worst is None or self._unknown > self._known:
            return Verdict.UNKNOWN, None
        return verdict_of(self.drill, self._worst), self._worst

    def _set(self, t_s: float, *, sounding: bool) -> tuple[Edge, ...]:
        sounding = sounding and self.cued
        if sounding == self.sounding:
            return ()
        self.sounding = sounding
        return (Edge(t_s, sounding, self.cue_error_rad if sounding else 0.0),)


def verdict_of(drill: Drill, value: float) -> Verdict:
    """Which side of the band a value is on."""
    if drill.margin(value) >= 0:
        return Verdict.IN_BAND
    return Verdict.BELOW if value < drill.low else Verdict.ABOVE
