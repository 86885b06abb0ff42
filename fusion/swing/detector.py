"""Walks the phase table with each instant, and dates every change to the instant at which it happened.

A change is announced when it is certain and dated by interpolation: a level by its crossing, the top and impact by the
vertex of a parabola through three samples, the takeaway by the last moment the club was still at the ball.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from typing import Final

from fusion.measure import Instant
from fusion.outputs import Phase
from fusion.swing.phases import TABLE, View

_STARTED = math.radians(1.5)
"""The takeaway is dated to when the club had turned this far."""
_HISTORY: Final = 400
_RATE_SAMPLES: Final = 5


@dataclass(frozen=True, slots=True)
class Step:
    """A phase began at `t_s`; `instant` is the sample nearest to it."""

    phase: Phase
    t_s: float
    instant: Instant


class SwingDetector:
    """From one address to the end of the swing; `phase` IDLE means that it is over."""

    def __init__(self, first: Instant) -> None:
        self.phase = Phase.ADDRESS
        self._began_s = first.t_s
        self._takeaway_s = first.t_s
        self._recent: deque[Instant] = deque([first], maxlen=_HISTORY)
        self._arm_highest = -math.inf
        self._shaft_nearest = math.inf

    def push(self, instant: Instant) -> tuple[Step, ...]:
        """Advance by one instant; gives at most one change."""
        self._recent.append(instant)
        angles = instant.angles
        shaft_elevation, arm_elevation = angles.shaft_elevation_rad or 0.0, angles.arm_elevation_rad or 0.0
        if self.phase in (Phase.TAKEAWAY, Phase.SHAFT_LEVEL, Phase.ARM_LEVEL):
            self._arm_highest = max(self._arm_highest, arm_elevation)
        elif self.phase is Phase.DOWNSWING:
            self._shaft_nearest = min(self._shaft_nearest, instant.shaft_off_rad)
        back = self._recent[-min(len(self._recent), _RATE_SAMPLES + 1)]
        elapsed_s = instant.t_s - back.t_s
        view = View(
            since_s=instant.t_s - self._began_s,
            club_turn=instant.club_turn_rad,
            arm_turn=instant.arm_turn_rad,
            shaft_elevation=shaft_elevation,
            arm_elevation=arm_elevation,
            shaft_off=instant.shaft_off_rad,
            shaft_rise=instant.shaft_rise_rad,
            shaft_trail=instant.shaft_trail,
            arm_highest=self._arm_highest,
            shaft_nearest=self._shaft_nearest,
            club_rate=(instant.club_turn_rad - back.club_turn_rad) / elapsed_s if elapsed_s > 0 else 0.0,
        )
        for rule in TABLE[self.phase]:
            if rule.holds(view):
                return (self._enter(rule.to),)
        return ()

    def _enter(self, phase: Phase) -> Step:
        self.phase = phase
        t_s = self._dated(phase)
        self._began_s = self._recent[-1].t_s
        if phase is Phase.TAKEAWAY:
            self._takeaway_s = t_s
            self._arm_highest = -math.inf
            self._shaft_nearest = math.inf
        return Step(phase, t_s, min(reversed(self._recent), key=lambda instant: abs(instant.t_s - t_s)))

    def _dated(self, phase: Phase) -> float:
        recent = self._recent
        match phase:
            case Phase.TAKEAWAY:
                still = [instant.t_s for instant in recent if instant.club_turn_rad < _STARTED]
                return still[-1] if still else recent[0].t_s
            case Phase.SHAFT_LEVEL:
                return _crossing(recent, [i.angles.shaft_elevation_rad or 0.0 for i in list(recent)[-2:]])
            case Phase.ARM_LEVEL:
                return _crossing(recent, [i.angles.arm_elevation_rad or 0.0 for i in list(recent)[-2:]])
            case Phase.TOP:
                return _vertex(recent, [i.angles.arm_elevation_rad or 0.0 for i in recent], since_s=self._takeaway_s)
            case Phase.IMPACT:
                return _vertex(recent, [-i.shaft_off_rad for i in recent], since_s=self._began_s)
            case _:
                return recent[-1].t_s


def _crossing(recent: deque[Instant], last_two: list[float]) -> float:
    """When a value rose through zero between the last two samples."""
    before, after = recent[-2].t_s, recent[-1].t_s
    if len(last_two) < 2 or not last_two[0] < 0 <= last_two[1]:
        return after
    return before - last_two[0] * (after - before) / (last_two[1] - last_two[0])


def _vertex(recent: deque[Instant], values: list[float], *, since_s: float) -> float:
    """When a value was greatest since a time: vertex of the parabola through the greatest sample and its neighbours."""
    times = [instant.t_s for instant in recent]
    inside = [i for i in range(len(times)) if times[i] >= since_s] or [len(times) - 1]
    i = max(inside, key=lambda k: values[k])
    if not 0 < i < len(times) - 1:
        return times[i]
    h0, h1 = times[i] - times[i - 1], times[i + 1] - times[i]
    s0, s1 = (values[i] - values[i - 1]) / h0, (values[i + 1] - values[i]) / h1
    curvature = (s1 - s0) / (h0 + h1)
    if curvature >= 0:
        return times[i]
    slope = s0 + curvature * h0
    return times[i] + min(max(-slope / (2 * curvature), -h0), h1)
