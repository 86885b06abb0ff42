"""Walks the phase table with each instant, and dates every change to the instant at which it happened.

A change is announced when it is certain and dated from the samples there are by then (`fusion/swing/dating.py`); the record
dates it again when the swing is over (`fusion/swing/refine.py`).
"""

from __future__ import annotations

import bisect
import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from fusion.measure import Instant
from fusion.orientation.window import INSTANT_S
from fusion.outputs.instant import Phase
from fusion.swing import dating
from fusion.swing.phases import AT_REST, BACKSWING, TABLE, View

_BEFORE_TAKEAWAY_S: Final = 1.0
"""Standing at the ball, instants are kept this long."""
_SHORT_S, _LONG_S = 0.024, 0.048
_HOLE_BEFORE_TOP_S: Final = 0.1
_LOOK_BACK_S: Final = 0.4
"""An arm that turned back did so within this time."""


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
        self.instants: list[Instant] = [first]
        """All since shortly before the takeaway; the table's time limits bound them."""
        self._times: list[float] = [first.t_s]
        self._began_s = first.t_s
        self._top_s = first.t_s
        self._at_ball_s = first.t_s
        self._hole_until_s = first.t_s
        self._view = View(**dict.fromkeys(View.__slots__, 0.0))

    def push(self, instant: Instant) -> tuple[Step, ...]:
        """Advance by one instant; gives at most one change."""
        hole_s = instant.t_s - self._times[-1]
        self.instants.append(instant)
        self._times.append(instant.t_s)
        if self.phase is Phase.ADDRESS:
            old = bisect.bisect_left(self._times, instant.t_s - _BEFORE_TAKEAWAY_S)
            del self.instants[:old], self._times[:old]
        view = self._look(instant, hole_s)
        for rule in TABLE[self.phase]:
            if rule.holds(view):
                return (self._enter(rule.to),)
        return ()

    def _back(self, for_s: float) -> Instant:
        """Look that far back: the latest instant no younger, or the first there is."""
        return self.instants[max(bisect.bisect_right(self._times, self._times[-1] - for_s) - 1, 0)]

    def _look(self, now: Instant, hole_s: float) -> View:
        view = self._view
        shaft, arm = now.angles.shaft_elevation_rad or 0.0, now.angles.arm_elevation_rad or 0.0
        now_s = now.t_s + INSTANT_S
        view.since_s, view.since_top_s = now_s - self._began_s, now_s - self._top_s
        view.club_turn, view.arm_turn = now.club_turn_rad, now.arm_turn_rad
        view.shaft_elevation, view.arm_elevation = shaft, arm
        view.shaft_off, view.shaft_rise, view.shaft_trail = now.shaft_off_rad, now.shaft_rise_rad, now.shaft_trail
        if now.club_turn_rad < AT_REST:
            self._at_ball_s = now.t_s
        view.away_s = now_s - self._at_ball_s
        view.rise_highest = max(view.rise_highest, now.shaft_rise_rad)
        if hole_s >= view.hole_s:
            view.hole_s, self._hole_until_s = hole_s, now.t_s
        short, long = self._back(_SHORT_S), self._back(_LONG_S)
        short_s, long_s = max(now.t_s - short.t_s, 1e-6), max(now.t_s - long.t_s, 1e-6)
        view.club_rate = (now.club_turn_rad - short.club_turn_rad) / short_s
        view.arm_rate = (arm - (short.angles.arm_elevation_rad or 0.0)) / short_s
        off_turn = now.shaft_off_rad - long.shaft_off_rad
        turn = max(
            abs(now.club_turn_rad - long.club_turn_rad),
            abs(now.arm_turn_rad - long.arm_turn_rad),
            abs(shaft - (long.angles.shaft_elevation_rad or 0.0)),
            abs(arm - (long.angles.arm_elevation_rad or 0.0)),
            abs(off_turn),
        )
        view.stir = turn / long_s
        if self.phase in BACKSWING:
            view.arm_highest = max(view.arm_highest, arm)
        elif self.phase is Phase.DOWNSWING:
            view.arm_lowest = min(view.arm_lowest, arm)
            if now.shaft_off_rad < view.shaft_nearest:
                view.shaft_nearest, view.closing = now.shaft_off_rad, -off_turn / long_s
        return view

    def _enter(self, phase: Phase) -> Step:
        was, self.phase = self.phase, phase
        t_s = self._dated(phase)
        now = self.instants[-1]
        self._began_s = now.t_s
        view = self._view
        if phase is Phase.TAKEAWAY:
            view.rise_highest = view.shaft_rise
        if phase is Phase.TAKEAWAY or (phase in BACKSWING and was not in BACKSWING):
            view.arm_highest = view.arm_elevation
        elif phase is Phase.TOP:
            self._top_s = now.t_s
            if self._hole_until_s < now.t_s - _HOLE_BEFORE_TOP_S:
                view.hole_s = 0.0
            view.arm_lowest, view.shaft_nearest, view.closing = view.arm_elevation, math.inf, 0.0
        return Step(phase, t_s, min(reversed(self.instants), key=lambda instant: abs(instant.t_s - t_s)))

    def _dated(self, phase: Phase) -> float:
        now_s = self._times[-1]
        times = np.array(self._times)
        match phase:
            case Phase.TAKEAWAY:
                return dating.onset(times, np.array([i.club_turn_rad for i in self.instants]))
            case Phase.SHAFT_LEVEL | Phase.ARM_LEVEL:
                name = "shaft_elevation_rad" if phase is Phase.SHAFT_LEVEL else "arm_elevation_rad"
                values = np.array([getattr(i.angles, name) or 0.0 for i in self.instants])
                return dating.crossing(times, values, now_s) if values[-2] < 0 <= values[-1] else now_s
            case Phase.TOP:
                first = bisect.bisect_left(self._times, now_s - _LOOK_BACK_S)
                arm = np.array([i.angles.arm_elevation_rad or 0.0 for i in self.instants[first:]])
                return dating.turned_back(times[first:], arm)
            case Phase.IMPACT:
                first = min(bisect.bisect_left(self._times, self._top_s), len(times) - 1)
                off = np.array([i.shaft_off_rad for i in self.instants[first:]])
                return dating.nearest(times[first:], off, float(times[first + int(off.argmin())]))
            case _:
                return now_s
