"""The fit moves of the model golfer, each with a human's imperfection.

Nobody bends without hinging a little or rolls with a shoulder quite still; sizes are plausible, no source, except that the
axis of a wrist's functional flexion lies some degrees off (people couple the two, Crisco et al. 2011, J Bone Joint Surg Am).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import assert_never

import numpy as np

from sensors.ids import Move
from sensors.virtual.swing import ADDRESS
from sensors.virtual.timeline import Timeline

ATTITUDES = (
    (90.0, 0.0, 0.0), (90.0, 0.0, 90.0), (0.0, 0.0, 0.0), (0.0, 0.0, 90.0), (0.0, 0.0, -90.0), (45.0, 90.0, 0.0),
    (-80.0, 0.0, 0.0), (0.0, 0.0, 180.0),
)  # fmt: skip
"""Plane, theta and roll of the arm for the sensors' attitudes: kinematics only, the sensors are off the body."""
_STROKE_S = 0.85
REACTION_S = 0.7
"""From being told of a move to taking it up: plausible, no source."""
NOTE_S = 0.4
"""From the note to the motion: the same."""
_LIES_S = 2.2
"""How long sensors lie that are laid down."""
_SETTLED_S = 0.2


class Part(Enum):
    """What of a move is made."""

    WHOLE = "whole"
    TAKEN_UP = "taken up"
    """The way to it, told of it beforehand; a pose is then held on."""
    BEGUN = "begun"
    """The rest, after that."""


@dataclass(slots=True)
class FitMoves:
    """Writes the moves on a timeline, and when each was begun."""

    timeline: Timeline
    rng: np.random.Generator
    error_deg: float
    """Standard deviation of how far a held pose misses."""
    pose_s: float
    begun: list[tuple[float, Move]]
    n_strokes: int = 3
    """How often a moving one goes to and fro."""
    part: Part = Part.WHOLE

    def take_club_up(self) -> None:
        """Take it up again after it was laid aside."""
        self.timeline.move(1.0, plane=75.0, roll=0.0, spin=0.0)

    def all(self, *, attitudes: int = 0, optional: bool = True) -> None:
        """Make every move in the order the page asks for them."""
        self.make(Move.STILL)
        for number in range(attitudes):
            self.make(Move.ATTITUDE, number=number)
        for move in (Move.NEUTRAL, *((Move.BEND, Move.HINGE) if optional else ()), Move.ROLL, Move.TWIRL, Move.LOCKED):
            self.make(move)
        self.make(Move.PALM)
        self.make(Move.ADDRESS)

    def make(self, move: Move, *, number: int = 0) -> None:  # noqa: C901  # a table
        """Make one move from wherever the golfer is; `number` counts the attitudes."""
        miss = self._missed
        match move:
            case Move.STILL:
                self._pose(move, calm=True)
            case Move.ATTITUDE:
                plane, theta, roll = ATTITUDES[number % len(ATTITUDES)]
                self._pose(move, calm=True, plane=plane, theta=theta, roll=roll)
            case Move.NEUTRAL:
                self._pose(
                    move,
                    plane=miss(60.0, 4.0), theta=miss(5.0, 4.0), roll=miss(10.0, 4.0), flexion=miss(0.0), ulnar=miss(0.0),
                )  # fmt: skip
            case Move.BEND:
                self._strokes(move, lambda a: {"flexion": 35.0 * a - 5.0, "ulnar": miss(6.0 * a), "plane": 60.0})
            case Move.HINGE:
                self._strokes(move, lambda a: {"ulnar": 16.0 * a + 2.0, "flexion": miss(4.0 * a), "plane": 60.0})
            case Move.ROLL:
                self._strokes(
                    move,
                    lambda a: {"roll": 45.0 * a, "plane": miss(60.0), "theta": miss(5.0), "flexion": 0.0, "ulnar": 3.0},
                )
            case Move.TWIRL:
                self._strokes(move, lambda a: {"spin": 150.0 * a, "flexion": miss(0.0), "theta": miss(5.0)})
            case Move.LOCKED:
                self._strokes(
                    move,
                    lambda a: {
                        "theta": 5.0 + 40.0 * a,
                        "plane": 55.0 - 25.0 * abs(a) + miss(0.0),
                        "roll": 20.0 * a,
                        "yaw": 12.0 * a,
                    },
                )
            case Move.PALM:
                self._pose(move, plane=miss(0.0, 2.0), theta=miss(0.0), roll=miss(90.0, 0.6), flexion=-10.0, spin=20.0)
                if self.part is Part.WHOLE:
                    self.take_club_up()
            case Move.ADDRESS:
                address = {name: value for name, value in ADDRESS.items() if name != "axial"}
                self._pose(move, calm=False, **address, yaw=0.0)
            case _:
                assert_never(move)

    def _missed(self, value: float, more: float = 1.0) -> float:
        return value + float(self.rng.normal(0.0, self.error_deg * more))

    def _begin(self, move: Move) -> None:
        self.begun.append((self.timeline.now_s, move))

    def _pose(self, move: Move, *, calm: bool = False, **targets: float) -> None:
        timeline = self.timeline
        if self.part is Part.BEGUN:  # it is being held
            self._begin(move)
            return
        timeline.move(1.1, **targets)
        if self.part is Part.TAKEN_UP:
            hold_s = _LIES_S if calm else _SETTLED_S
            if calm:
                timeline.calm(timeline.now_s, timeline.now_s + hold_s)
            timeline.hold(hold_s)
            return
        timeline.hold(0.4)
        self._begin(move)
        if calm:
            timeline.calm(timeline.now_s - 0.3, timeline.now_s + self.pose_s)
        timeline.hold(self.pose_s)

    def _strokes(self, move: Move, at: Callable[[float], dict[str, float]]) -> None:
        """Go to and fro: `at` gives the joints for -1, 0 and 1."""
        timeline = self.timeline
        if self.part is Part.BEGUN:
            timeline.hold(NOTE_S)
        else:
            timeline.move(0.8, **at(0.0))
            timeline.hold(0.3)
        if self.part is Part.TAKEN_UP:
            return
        self._begin(move)
        for side in (1.0, -1.0) * self.n_strokes:
            timeline.move(_STROKE_S, **at(side))
        timeline.move(_STROKE_S, **at(0.0))
        timeline.hold(0.8)
