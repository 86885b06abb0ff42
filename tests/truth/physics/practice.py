"""Half an hour on the range: full swings from sound to cupped, and all that lies between them."""

from __future__ import annotations

import numpy as np

from tests.truth.physics.handling import lay_aside, ready, take_up
from tests.truth.physics.player import DAY_TO_DAY_DEG
from tests.truth.physics.poses import Pose, address, degrees, top
from tests.truth.physics.stage import LAYS_ASIDE, Stage, Swing
from tests.truth.physics.swing import SWING_JOINTS, Golfer, plain, swing


def draw_golfer(stage: Stage, who: np.random.Generator | None = None) -> Golfer:
    """How they stand and swing; `who` draws it for a player who comes again: only the wrist is 2 deg otherwise, day by day."""
    rng = who or stage.rng
    bend_deg = rng.normal(-8.0, 6.0) + (stage.rng.normal(0.0, DAY_TO_DAY_DEG) if who else 0.0)
    return Golfer(bend_deg, rng.uniform(0.85, 1.05), rng.uniform(0.225, 0.27), address(stage.body, rng, bend_deg))


def practise(stage: Stage, until_s: float, n_swings: int, who: np.random.Generator | None = None) -> None:
    """Spread the swings evenly over what is left of the time; the first address is marked as the last set-up move."""
    golfer = draw_golfer(stage, who)
    rng = stage.rng
    for k in range(n_swings):
        slot_s = (until_s - stage.now_s) / (n_swings - k)
        due_s = stage.now_s + slot_s
        if k:
            spend(stage, golfer, due_s - 7.0)
        regrip(stage)
        over_the_ball(stage, golfer, first=k == 0)
        swing(stage, golfer, bend_top_deg=rng.uniform(-35.0, 15.0), hit=rng.uniform() > 0.06)
    stage.wait(1.0)


def spend(stage: Stage, golfer: Golfer, until_s: float) -> None:
    """Walk, stand, rehearse, waggle in the air, lean the club somewhere, until the time is up."""
    acts = {walk: 0.4, stand: 0.25, rehearse: 0.2, fidget: 0.1, put_away: LAYS_ASIDE}
    if stage.lays_aside != LAYS_ASIDE:
        others = (1.0 - stage.lays_aside) / (1.0 - LAYS_ASIDE)
        acts = {act: share * others for act, share in acts.items()} | {put_away: stage.lays_aside}
    length_s = {walk: 8.0, stand: 6.0, rehearse: 10.0, fidget: 5.0, put_away: 16.0}
    while True:
        act = stage.rng.choice(np.array(list(acts), dtype=object), p=list(acts.values()))
        if stage.now_s + length_s[act] > until_s:
            if stage.now_s + length_s[stand] > until_s:
                return
            act = stand
        act(stage, golfer)


def walk(stage: Stage, golfer: Golfer) -> None:
    """A few steps, turning to anywhere, with bob, arm swing, and the club carried."""
    del golfer
    rng = stage.rng
    seconds = rng.uniform(2.5, 6.0)
    stage.go(ready(stage) | degrees(flex=rng.uniform(5, 30), elbow=rng.uniform(5, 50), bend=rng.normal(0, 15),
                                    dev=rng.uniform(-15, 15), pron=rng.uniform(40, 110)), 1.2)  # fmt: skip
    heading, distance = rng.uniform(0, 2 * np.pi), seconds * rng.uniform(0.7, 1.2)
    stage.go({
        "pelvis_x": stage.rest["pelvis_x"] + distance * np.cos(heading),
        "pelvis_y": stage.rest["pelvis_y"] + distance * np.sin(heading),
        "yaw": stage.rest["yaw"] + rng.uniform(-np.pi, np.pi),
    }, seconds, wait=False)  # fmt: skip
    step_hz = rng.uniform(1.6, 2.0)
    stage.burst("pelvis_z", seconds, [(0.02, step_hz, 0.0), (0.004, 3 * step_hz, 1.0)], ramp_s=0.6)
    stage.burst("turn", seconds, [(np.radians(5), step_hz / 2, 0.3)], ramp_s=0.6)
    stage.burst("flex", seconds, [(np.radians(rng.uniform(3, 15)), step_hz / 2, 1.0)], ramp_s=0.6)
    stage.burst("bend", seconds, [(np.radians(3), step_hz, 2.0)], ramp_s=0.6)
    stage.wait(seconds)


def stand(stage: Stage, golfer: Golfer) -> None:
    """About, the club held anyhow."""
    del golfer
    rng = stage.rng
    pose = degrees(flex=rng.uniform(5, 40), elbow=rng.uniform(5, 70), bend=rng.normal(0, 15), dev=rng.uniform(-15, 15),
                   pron=rng.uniform(40, 120))  # fmt: skip
    stage.go(ready(stage) | pose, rng.uniform(0.8, 1.5))
    stage.wait(rng.uniform(1.0, 4.0))


def fidget(stage: Stage, golfer: Golfer) -> None:
    """A big loose waggle away from the ball, club in the air."""
    del golfer
    rng = stage.rng
    stage.go(ready(stage) | degrees(flex=rng.uniform(30, 70)), 1.0)
    seconds = rng.uniform(2.0, 3.5)
    for joint, size in (("dev", 16), ("bend", 20), ("pron", 35), ("flex", 15), ("turn", 10)):
        stage.burst(joint, seconds, [(np.radians(rng.normal(0, size)), rng.uniform(0.7, 1.6), rng.uniform(0, 6))])
    stage.wait(seconds)


def rehearse(stage: Stage, golfer: Golfer) -> None:
    """A slow half-move to about shaft level or arm level and back, over the ball."""
    rng = stage.rng
    here = vary(stage, golfer)
    stage.go(here, 1.5)
    stage.wait(rng.uniform(0.4, 1.2))
    goal = top(stage.body, rng, plain(here), rng.uniform(-30.0, 10.0))
    share = float(rng.choice([0.4, 0.6]) + rng.normal(0.0, 0.04))
    part = {name: here[name] + share * (goal.get(name, 0.0) - here[name]) for name in SWING_JOINTS if name != "yaw"}
    start_s = stage.now_s
    seconds = rng.uniform(1.0, 2.0)
    stage.go(part, seconds)
    stage.wait(rng.uniform(0.1, 0.8))
    stage.go({name: here[name] for name in part}, seconds * rng.uniform(0.8, 1.2))
    stage.half_moves.append((start_s, stage.now_s))
    stage.wait(0.6)


def put_away(stage: Stage, golfer: Golfer) -> None:
    """The club leans or lies somewhere for a while."""
    del golfer
    lay_aside(stage, dropped=bool(stage.rng.integers(2)))
    stage.wait(stage.rng.uniform(2.0, 4.0))
    take_up(stage, spin_deg=2.0, other_deg=1.0)


def regrip(stage: Stage) -> None:
    """A small new turn of the club in the hand, mostly about the shaft."""
    rng = stage.rng
    turn = stage.slack("regrip") * np.radians(rng.normal(0.0, [2.0, 0.7, 0.7]))
    stage.go(dict(zip(("spin", "grip_x", "grip_z"), turn, strict=True)), 0.6, wait=False)


def vary(stage: Stage, golfer: Golfer) -> Pose:
    """The usual address, as it comes out this time, where the player stands now."""
    rng = stage.rng
    pose = {k: v for k, v in golfer.base.items() if k != "yaw"}
    for name, sd in (
        ("tilt", 1.0),
        ("turn", 1.5),
        ("flex", 1.0),
        ("adduct", 1.0),
        ("pron", 3.0),
        ("bend", 2.0),
        ("dev", 1.5),
    ):
        pose[name] = pose.get(name, 0.0) + np.radians(rng.normal(0.0, sd))
    return {**dict.fromkeys(SWING_JOINTS, 0.0), **pose, "yaw": stage.rest["yaw"]}


def over_the_ball(stage: Stage, golfer: Golfer, *, first: bool) -> None:
    """Stand to it, waggle, be nearly still for 0.3 to 0.8 s (the marked first time: 2 s)."""
    rng = stage.rng
    stage.go(vary(stage, golfer), 1.4)
    if rng.uniform() < 0.8 and not first:
        stage.wait(rng.uniform(0.1, 0.5))
        seconds = rng.uniform(0.8, 2.2)
        for joint, size in (("dev", 9), ("bend", 5), ("pron", 4), ("flex", 2), ("turn", 1.5)):
            hz = rng.uniform(0.9, 1.5)
            stage.burst(joint, seconds, [(np.radians(rng.normal(0, size)), hz, 0.0)], ramp_s=0.25)
        stage.wait(seconds)
    hold_s = stage.now_s
    if first:
        stage.wait(2.4)
        stage.mark("address", hold_s + 0.1)
    else:
        stage.wait(rng.uniform(0.3, 0.8))
    stage.swings.append(Swing(hold_s, stage.now_s, 0.0, 0.0, 0.0, hit=True))
