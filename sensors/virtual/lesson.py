"""Invented students of an invented lesson, each with a fault of their own, for a coach's page that has something to show.

The first student of a demo lesson is the player of the recording that comes along (`sensors/virtual/demo.py`). These are the
others: their practices are made when they are needed, the same every time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from sensors.ids import Side
from sensors.record.writer import Recorder
from sensors.virtual.demo import WALL_CLOCK_NS
from sensors.virtual.practice import make_practice
from sensors.virtual.session import Player, VirtualSession, draw_session
from sensors.virtual.swing import SwingShape


@dataclass(frozen=True, slots=True, kw_only=True)
class Learner:
    """A student of the lesson, and how they swing."""

    name: str
    lead_side: Side
    club: str
    drill: str
    """The name of the drill that they work on."""
    shapes: Sequence[SwingShape]


def _cupped(*faults: float) -> Sequence[SwingShape]:
    return tuple(SwingShape(fault=fault) for fault in faults)


LEARNERS: Final = (
    Learner(  # rolls the forearm too little, and sees little change; left-handed
        name="Ansel Rook", lead_side=Side.RIGHT, club="6-iron", drill="2-roll-the-forearm",
        shapes=_cupped(0.70, 0.62, 0.75, 0.55, 0.66, 0.48, 0.60, 0.52, 0.58, 0.44),
    ),
    Learner(  # bowed too far: the same moves beyond sound
        name="Idris Vale", lead_side=Side.LEFT, club="5-iron", drill="4-flat-wrist-at-the-top",
        shapes=_cupped(-0.62, -0.48, -0.55, -0.30, -0.42, -0.18, -0.30, -0.08, -0.15, 0.0),
    ),
    Learner(  # hurries back
        name="Petra Lind", lead_side=Side.LEFT, club="7-iron", drill="7-three-to-one",
        shapes=tuple(
            SwingShape(fault=0.1, backswing_s=back_s)
            for back_s in (0.58, 0.62, 0.56, 0.68, 0.64, 0.74, 0.70, 0.82, 0.78, 0.84)
        ),
    ),
    Learner(  # stops short of the top
        name="Juno Harrow", lead_side=Side.LEFT, club="9-iron", drill="6-finish-the-turn",
        shapes=tuple(
            SwingShape(fault=0.2, reach=reach) for reach in (0.74, 0.78, 0.72, 0.82, 0.80, 0.88, 0.84, 0.95, 0.90, 1.0)
        ),
    ),
    Learner(  # steady
        name="Tove Marsh", lead_side=Side.LEFT, club="8-iron", drill="1-quiet-wrist",
        shapes=_cupped(0.06, 0.0, 0.10, 0.04, 0.0, 0.12, 0.02, 0.08, 0.0, 0.05),
    ),
)  # fmt: skip


def learner_session(learner: Learner) -> VirtualSession:
    """Lay out the practice and draw the sensors."""
    seed = 100 + LEARNERS.index(learner)
    practice = make_practice(learner.shapes, np.random.default_rng(seed), pose_error_deg=1.5, pose_s=1.6)
    return draw_session(practice, Player(name=learner.name, lead_side=learner.lead_side, club=learner.club), seed)


def write_learner(learner: Learner, path: Path) -> None:
    """Write the recording of one practice; under its name it is whole. Raises `RecorderError` or OSError."""
    notes = {
        "provenance": "Simulated by sensors/virtual; no person, place or device in it is real.",
        "scenario": f"{learner.name} (invented), {len(learner.shapes)} swings of a lesson.",
    }
    part = path.with_suffix(".part.mcap")
    part.unlink(missing_ok=True)
    with Recorder(part, notes=notes, wall_clock_ns=lambda: WALL_CLOCK_NS) as recorder:
        for event in learner_session(learner).events():
            recorder.write(event)
    part.replace(path)
