"""Draws a golfer with two boards off the shelf and puts them on stage."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sensors.ids import Role, Side
from sensors.virtual.golfer import Build
from sensors.virtual.imu import ImuFaults, draw_mount
from sensors.virtual.stage.acts import Golfer
from sensors.virtual.stage.board import Board, Oscillators
from sensors.virtual.stage.script import Script
from sensors.virtual.stage.stage import SLICE_S, News, Stage


@dataclass(frozen=True, slots=True, kw_only=True)
class Casting:
    """Who plays: the same seed gives the same golfer, the same boards and the same motion."""

    seed: int = 1
    lead_side: Side = Side.LEFT
    pose_s: float = 2.6
    """How long a fit pose is held."""
    n_strokes: int = 3
    """How often a moving fit move goes to and fro."""
    slice_s: float = SLICE_S
    """How much motion is made at a time: longer costs less, and what is asked for comes later."""


def cast(casting: Casting, script: Script, *, tell: Callable[[News], None], heard: Callable[[], bool]) -> Stage:
    """Put a golfer on stage, a board on forearm and club."""
    rng = np.random.default_rng((casting.seed, 99))
    build = Build(forearm_mount=draw_mount(rng), club_mount=draw_mount(rng))
    boards = {
        role: Board(
            role,
            build,
            casting.lead_side,
            ImuFaults.draw(rng),
            Oscillators(
                drift=float(rng.uniform(-30e-6, 30e-6)),
                rate_error=float(rng.uniform(-0.01, 0.01)),
            ),
            seed=casting.seed * 16 + index,
        )
        for index, role in enumerate((Role.FOREARM, Role.CLUB))
    }
    golfer = Golfer(np.random.default_rng((casting.seed, 3)), pose_s=casting.pose_s, n_strokes=casting.n_strokes)
    return Stage(golfer, script, boards, tell=tell, heard=heard, slice_s=casting.slice_s)
