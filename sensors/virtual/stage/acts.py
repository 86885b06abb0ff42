"""What the golfer can be asked to do, one act at a time, without end: each begins and ends still, where the last one ended."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.interpolate import BSpline

from sensors.ids import Move
from sensors.virtual.fit_moves import REACTION_S, FitMoves, Part
from sensors.virtual.golfer import HANGING
from sensors.virtual.practice import address_ball, body_curves, take_swing
from sensors.virtual.swing import SwingShape
from sensors.virtual.timeline import Timeline

WAIT_S: Final = 0.25
"""How long the golfer waits before looking again whether there is something to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """A piece of motion; every time counts from its beginning."""

    curves: Mapping[str, BSpline]
    duration_s: float
    move: Move | None = None
    """The fit move that it is, if it is one."""
    begun_s: float = 0.0
    """When the golfer is in position for it: the moment to tap."""
    fault: float | None = None
    """For a swing: 0 sound, 1 with the lead wrist cupped early."""
    blow_s: float | None = None
    """When ball or ground is hit."""


class Golfer:
    """Makes acts.

    `pose_s` is how long a pose is held, `error_deg` how far it misses, `wander` scales involuntary motion, `n_strokes` is how
    often a moving fit move goes to and fro.
    """

    def __init__(
        self,
        rng: np.random.Generator,
        *,
        pose_s: float = 2.6,
        error_deg: float = 2.0,
        wander: float = 1.0,
        n_strokes: int = 3,
    ) -> None:
        self._rng = rng
        self._pose_s = pose_s
        self._error_deg = error_deg
        self._wander = wander
        self._n_strokes = n_strokes
        self._posture: Mapping[str, float] = HANGING
        self._n_attitudes = 0
        self._ready: Move | None = None
        """The move that is taken up."""
        self._aside = False
        """The club is not in the hand."""

    def wait(self) -> Act:
        """Stand as one stands, for a moment."""
        curves, duration_s = self._perform(lambda timeline: timeline.hold(WAIT_S))
        return Act(curves=curves, duration_s=duration_s)

    def take_up(self, move: Move) -> Act:
        """Told of a fit move: after a moment take it up, and wait there. A sensor's attitude is another one each time."""
        self._n_attitudes += move is Move.ATTITUDE

        def play(timeline: Timeline) -> None:
            moves = self._moves(timeline, [], Part.TAKEN_UP)
            timeline.hold(REACTION_S)
            if self._aside:
                moves.take_club_up()
            moves.make(move, number=self._n_attitudes - 1)

        curves, duration_s = self._perform(play)
        self._ready, self._aside = move, move is Move.PALM
        return Act(curves=curves, duration_s=duration_s)

    def fit_move(self, move: Move) -> Act:
        """Make a fit move, or what is left of it when it is taken up. An attitude is another one each time."""
        begun: list[tuple[float, Move]] = []
        part = Part.BEGUN if self._ready is move else Part.WHOLE
        self._n_attitudes += part is Part.WHOLE and move is Move.ATTITUDE
        number = self._n_attitudes - 1
        curves, duration_s = self._perform(
            lambda timeline: self._moves(timeline, begun, part).make(move, number=number)
        )
        self._ready, self._aside = None, self._aside and part is Part.BEGUN
        return Act(curves=curves, duration_s=duration_s, move=move, begun_s=begun[0][0])

    def _moves(self, timeline: Timeline, begun: list[tuple[float, Move]], part: Part) -> FitMoves:
        return FitMoves(timeline, self._rng, self._error_deg, self._pose_s, begun, self._n_strokes, part)

    def swing(self, fault: float) -> Act:
        """Step to the ball, waggle, swing, step away."""
        shape = SwingShape(
            fault=fault,
            backswing_s=float(self._rng.normal(0.88, 0.03)),
            downswing_s=float(self._rng.normal(0.275, 0.008)),
        )
        impacts_s: list[float] = []

        def play(timeline: Timeline) -> None:
            address_ball(timeline, self._rng)
            impacts_s.append(take_swing(timeline, self._rng, shape).impact_s)

        curves, duration_s = self._perform(play)
        self._ready, self._aside = None, False
        return Act(curves=curves, duration_s=duration_s, fault=fault, blow_s=impacts_s[0])

    def _perform(self, play: Callable[[Timeline], None]) -> tuple[Mapping[str, BSpline], float]:
        timeline = Timeline(self._posture)
        # Curves are smoothed over a few knots: without a moment's rest at either end they would not meet the next act's.
        timeline.hold(_JOIN_S)
        play(timeline)
        timeline.hold(_JOIN_S)
        timeline.calm(0.0, 0.0)
        timeline.calm(timeline.now_s, timeline.now_s)
        self._posture = timeline.posture
        return body_curves(timeline, self._rng, wander=self._wander), timeline.now_s


_JOIN_S: Final = 0.1
