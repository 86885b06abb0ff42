"""A practice session as a timeline: fit poses, then a bucket of swings with waggles, walking off and coming back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import BSpline

from sensors.ids import Move
from sensors.virtual.golfer import HANGING, Build
from sensors.virtual.swing import ADDRESS, SwingShape, swing, waggle
from sensors.virtual.timeline import Timeline

WANDER: Mapping[str, float] = {
    "x_m": 0.0012, "y_m": 0.0012, "z_m": 0.0006, "tilt": 0.12, "turn": 0.15, "plane": 0.10, "theta": 0.12,
    "roll": 0.15, "flexion": 0.25, "ulnar": 0.20, "axial": 0.10,
}  # fmt: skip
"""Involuntary sway and tremor, standard deviation, degrees or metres. Plausible, no source."""


_HANG_GRIP = -(Build().shaft_in_hand_deg + 90.0 - 60.0)
"""Turn of the club in two fingers that lets it point straight down from an arm inclined by 60 deg."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SwingMark:
    """Where a swing stands on the timeline, as commanded (the true instants are measured on the motion itself)."""

    start_s: float
    top_s: float
    impact_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice:
    """Joint curves in degrees and metres, and what happens when."""

    curves: Mapping[str, BSpline]
    duration_s: float
    moves: tuple[tuple[float, Move], ...]
    """When the golfer says: I am in the pose."""
    swings: tuple[SwingMark, ...]


def make_practice(
    shapes: Sequence[SwingShape],
    rng: np.random.Generator,
    *,
    pose_error_deg: float = 2.5,
    wander: float = 1.0,
    pose_s: float = 2.6,
) -> Practice:
    """Lay a practice out.

    `pose_error_deg` is the standard deviation of how far each held pose misses its ideal, `wander` scales involuntary
    motion, `pose_s` is how long a pose is held after the golfer has said that it is.
    """
    timeline = Timeline(HANGING)
    moves: list[tuple[float, Move]] = []

    def pose(move: Move, **targets: float) -> None:
        timeline.move(1.1, **targets)
        timeline.hold(0.4)
        moves.append((timeline.now_s, move))
        timeline.hold(pose_s)

    def missed(value: float) -> float:
        return value + rng.normal(0.0, pose_error_deg)

    pose(Move.STILL)
    pose(
        Move.ARM_DOWN,
        plane=missed(90.0), theta=missed(0.0), flexion=missed(0.0) / 2, ulnar=missed(0.0) / 2,
    )  # fmt: skip
    pose(
        Move.ARM_LEVEL,
        plane=missed(0.0), theta=missed(0.0), roll=missed(0.0), flexion=missed(0.0) / 2, ulnar=missed(0.0) / 2,
    )  # fmt: skip
    pose(Move.CLUB_HANG, plane=60.0, theta=0.0, roll=0.0, flexion=0.0, ulnar=0.0, grip_x=_HANG_GRIP)
    timeline.move(1.0, plane=75.0, grip_x=0.0)

    swings: list[SwingMark] = []
    for shape in shapes:
        timeline.move(1.3, **(ADDRESS | {"yaw": rng.normal(0.0, 6.0), "x_m": 0.0, "y_m": 0.0}))
        timeline.hold(0.3)
        waggle(timeline)
        timeline.hold(rng.uniform(0.9, 1.5))
        start_s = timeline.now_s
        swing(timeline, shape)
        top_s = start_s + shape.backswing_s
        swings.append(SwingMark(start_s=start_s, top_s=top_s, impact_s=top_s + shape.downswing_s))
        _walk_off(timeline, rng)
    timeline.move(1.0, **{name: value for name, value in HANGING.items() if name != "yaw"})
    timeline.hold(0.5)
    curves = timeline.curves(rng, {name: wander * value for name, value in WANDER.items()})
    return Practice(curves=curves, duration_s=timeline.now_s, moves=tuple(moves), swings=tuple(swings))


def _walk_off(timeline: Timeline, rng: np.random.Generator) -> None:
    """Let the club down, step back, look after the ball, turn the club in the fingers a little, step up again."""
    turn = rng.normal(0.0, 40.0)
    timeline.move(
        1.3, tilt=4.0, turn=0.0, plane=84.0, theta=rng.normal(0.0, 8.0), roll=rng.normal(0.0, 15.0),
        flexion=rng.normal(-5.0, 8.0), ulnar=rng.normal(0.0, 8.0), yaw=turn, y_m=-0.35, z_m=0.0,
    )  # fmt: skip
    timeline.move(0.9, yaw=turn / 2, roll=rng.normal(0.0, 20.0), y_m=-0.5, x_m=rng.normal(0.0, 0.2))
