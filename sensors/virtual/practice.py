"""A practice session as a timeline: fit poses, then a bucket of swings with waggles, walking off and coming back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import BSpline

from sensors.ids import Move
from sensors.virtual import between
from sensors.virtual.between import walk_off
from sensors.virtual.fit_moves import FitMoves
from sensors.virtual.golfer import HANGING
from sensors.virtual.swing import ADDRESS, SwingShape, swing, waggle
from sensors.virtual.timeline import Timeline

WANDER: Mapping[str, float] = {
    "x_m": 0.0012, "y_m": 0.0012, "z_m": 0.0006, "tilt": 0.12, "turn": 0.15, "plane": 0.10, "theta": 0.12,
    "roll": 0.15, "flexion": 0.25, "ulnar": 0.20, "axial": 0.10,
    "skin": 0.15, "spin": 0.10,
}  # fmt: skip
"""Involuntary sway and tremor, standard deviation, degrees or metres. Plausible, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SwingMark:
    """Where a swing stands on the timeline, as commanded (the true instants are measured on the motion itself)."""

    start_s: float
    top_s: float
    impact_s: float
    strikes: bool = True
    """Whether it meets a ball or the ground."""


@dataclass(frozen=True, slots=True)
class Pastime:
    """Something done between swings, by the name of its act in `between.py`."""

    name: str
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice:
    """Joint curves in degrees and metres, and what happens when."""

    curves: Mapping[str, BSpline]
    duration_s: float
    moves: tuple[tuple[float, Move], ...]
    """When the golfer says: I am in the pose."""
    swings: tuple[SwingMark, ...]
    pastimes: tuple[Pastime, ...] = ()
    """Everything else that a long practice is made of."""


def make_practice(
    shapes: Sequence[SwingShape],
    rng: np.random.Generator,
    *,
    pose_error_deg: float = 2.5,
    wander: float = 1.0,
    pose_s: float = 2.6,
    attitudes: int = 0,
    spread_over_s: float | None = None,
) -> Practice:
    """Lay a practice out.

    `pose_error_deg` is the standard deviation of how far each held pose misses its ideal, `wander` scales involuntary
    motion, `pose_s` is how long a pose is held after the golfer has said that it is, `attitudes` how many attitudes of the
    sensors are shown first. Without `spread_over_s` swing follows swing; with it they are spread over that time, and what
    golfers do between swings fills it: rehearsals, waggles of all kinds, walking, regrips for good, a dropped club and so on.
    """
    timeline = Timeline(HANGING)
    moves: list[tuple[float, Move]] = []
    FitMoves(timeline, rng, pose_error_deg, pose_s, moves).all(attitudes=attitudes)

    swings: list[SwingMark] = []
    pastimes: list[Pastime] = []
    begun_s = timeline.now_s
    for k, shape in enumerate(shapes):
        if spread_over_s is None:
            address_ball(timeline, rng)
        else:
            pass_time(timeline, rng, begun_s + (k + 0.9) * spread_over_s / len(shapes), pastimes)
        swings.append(take_swing(timeline, rng, shape))
    timeline.move(1.0, **{name: value for name, value in HANGING.items() if name != "yaw"})
    timeline.hold(0.5)
    return Practice(
        curves=body_curves(timeline, rng, wander=wander),
        duration_s=timeline.now_s,
        moves=tuple(moves),
        swings=tuple(swings),
        pastimes=tuple(pastimes),
    )


def address_ball(timeline: Timeline, rng: np.random.Generator) -> None:
    """Step to the ball, waggle, and be still."""
    timeline.move(1.3, **(ADDRESS | {"yaw": rng.normal(0.0, 6.0), "x_m": 0.0, "y_m": 0.0}))
    timeline.hold(0.3)
    waggle(timeline)
    timeline.hold(rng.uniform(0.9, 1.5))


def take_swing(timeline: Timeline, rng: np.random.Generator, shape: SwingShape) -> SwingMark:
    """Swing, finish, and step away."""
    start_s = timeline.now_s
    top_s, impact_s = swing(timeline, shape)
    walk_off(timeline, rng)
    return SwingMark(start_s=start_s, top_s=top_s, impact_s=impact_s, strikes=shape.strikes)


def body_curves(timeline: Timeline, rng: np.random.Generator, *, wander: float) -> dict[str, BSpline]:
    """Joint curves of a timeline, with sway, tremor and skin; `wander` scales them."""
    curves = timeline.curves(rng, {name: wander * value for name, value in WANDER.items()})
    if wander:
        curves["skin"] = _lag(curves["roll"], curves["skin"])
    return curves


SKIN_LAG = 0.05
"""Share of the bone's roll that the skin at the sensor does not follow. Plausible, no source."""


def _lag(roll: BSpline, own: BSpline) -> BSpline:
    """Add the lag behind the forearm's roll to a curve on the same knots."""
    return BSpline(own.t, own.c + SKIN_LAG * roll.c, own.k, extrapolate=True)


def pass_time(timeline: Timeline, rng: np.random.Generator, until_s: float, log: list[Pastime]) -> None:
    """Do what golfers do until about `until_s`, and end over the ball, waggled and still."""

    def note(name: str, start_s: float) -> None:
        log.append(Pastime(name, start_s, timeline.now_s))

    while timeline.now_s < until_s - _READY_S:
        act, start_s = between.AWAY[int(rng.integers(len(between.AWAY)))], timeline.now_s
        act(timeline, rng)
        note(act.__name__, start_s)
    start_s = timeline.now_s
    between.step_up(timeline, rng)
    note("step_up", start_s)
    if rng.random() < _REHEARSES:
        timeline.hold(rng.uniform(0.5, 1.0))
        start_s = timeline.now_s
        reach = float(rng.choice((0.5, 0.69, 1.0)))
        return_s = rng.uniform(0.55, 1.6) * (0.7 + 0.3 * reach)
        between.rehearse(timeline, rng, reach=reach, back_s=rng.uniform(1.6, 3.5), return_s=return_s)
        note("rehearse", start_s)
    start_s = timeline.now_s
    between.waggle(timeline, rng)
    note("waggle", start_s)
    between.stand(timeline, rng)


_READY_S = 8.0
"""About what it takes to step up, rehearse, waggle and settle."""
_REHEARSES = 0.5
