"""One full swing as joint motion: body first, wrists last, and what comes loose on the way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.truth.physics.handling import ready
from tests.truth.physics.poses import Pose, degrees, impact, top
from tests.truth.physics.stage import Stage

# Rate at impact as a multiple of the mean rate from top to impact; 2.5 is a late release, the most a quintic takes
# without swinging back first. Own choice: late wrists after an early body (Zheng et al. 2008, Int J Sports Med 29:487).
RELEASE = {"turn": 1.4, "flex": 1.8, "adduct": 1.7, "pron": 2.3, "dev": 2.3, "bend": 1.0}
SWING_JOINTS = ("yaw", "tilt", "turn", "side", "flex", "adduct", "humeral", "elbow", "pron", "bend", "dev")


@dataclass(frozen=True, slots=True)
class Golfer:
    """Habits that stay through a practice."""

    address_bend_deg: float
    backswing_s: float
    downswing_s: float
    base: Pose  # the usual address


def plain(pose: Pose) -> Pose:
    """The same pose facing y at the origin, as the inverse kinematics want it."""
    return {**{k: v for k, v in pose.items() if k in SWING_JOINTS}, "yaw": 0.0}


def swing(stage: Stage, golfer: Golfer, *, bend_top_deg: float, hit: bool) -> None:
    """One full swing; joints start and turn at slightly different times, body first, wrists last."""
    rng = stage.rng
    now = stage.now_s
    back_s = np.clip(golfer.backswing_s * rng.normal(1.0, 0.06), 0.7, 1.1)
    down_s = np.clip(golfer.downswing_s * rng.normal(1.0, 0.04), 0.22, 0.32)
    through_s, hold_s = rng.uniform(0.5, 0.65), rng.uniform(0.3, 1.2)
    here = {name: stage.rest[name] for name in SWING_JOINTS}
    up = {**dict.fromkeys(SWING_JOINTS, 0.0), **top(stage.body, rng, plain(here), bend_top_deg)}
    hit_bend_deg = np.clip(0.4 * bend_top_deg + rng.normal(4.0, 5.0), -25.0, 20.0)
    down = {**dict.fromkeys(SWING_JOINTS, 0.0), **impact(stage.body, rng, plain(here), hit_bend_deg)}
    through = {**down, **degrees(turn=-95, side=2, tilt=14, flex=95, adduct=-35, humeral=20, elbow=75, pron=35, bend=-8,
                                 dev=-8)}  # fmt: skip
    top_s, impact_s = now + back_s, now + back_s + down_s
    finish_s = impact_s + through_s
    late = {"turn": -0.04, "side": -0.03, "bend": 0.02, "pron": 0.25 * down_s, "dev": rng.uniform(0.25, 0.5) * down_s}
    half, middle = rng.normal(0.40, 0.03), now + 0.5 * back_s  # a slow start: less than half way at half time
    for name in SWING_JOINTS:
        if name == "yaw":
            continue
        begin_s = now + (rng.uniform(0.08, 0.3) * back_s if name == "dev" else rng.uniform(0.0, 0.03))
        turn_s = top_s + late.get(name, 0.0) + rng.normal(0.0, 0.008)
        t_s, values, rates = [begin_s], [here[name]], [0.0]
        if name != "dev":
            values.append(here[name] + half * (up[name] - here[name]))
            rates.append(1.7 * (up[name] - here[name]) / back_s)
            t_s.append(middle)
        rate = RELEASE.get(name, 1.0) * (down[name] - up[name]) / (impact_s - turn_s)
        t_s, values, rates = [*t_s, turn_s, impact_s], [*values, up[name], down[name]], [*rates, 0.0, rate]
        if (through[name] - down[name]) * rate < 0.0:  # runs on past impact before it turns back
            coast_s = rng.uniform(0.10, 0.16)
            coast = np.clip(rate * coast_s * 0.4, -np.radians(15.0), np.radians(15.0))
            t_s, values, rates = [*t_s, impact_s + coast_s], [*values, down[name] + coast], [*rates, 0.0]
        stage.knots(name, [*t_s, finish_s], [*values, through[name]], [*rates, 0.0])
    looseness(stage, now, top_s, impact_s, finish_s)
    last = stage.swings[-1]
    last.start_s, last.top_s, last.impact_s, last.finish_s, last.hit = now, top_s, impact_s, finish_s, hit
    stage.now_s = finish_s + hold_s
    stage.go(ready(stage) | degrees(bend=0, dev=0, pron=75), 1.5)


def looseness(stage: Stage, now: float, top_s: float, impact_s: float, finish_s: float) -> None:
    """Slip of the grip, play along the axis of the wrist, wobble of the skin: about a degree each within a swing."""
    rng = stage.rng
    for name, sd in (("grip_x", 0.6), ("grip_y", 0.0), ("grip_z", 0.6), ("spin", 1.0), ("axial", 1.0)):
        first = stage.rest[name]
        a, b, c = (
            np.radians(rng.normal(0.0, sd, 3)) * [1.0, 1.0, 0.4] * stage.slack("play" if name == "axial" else "slip")
        )
        if name == "axial":
            stage.knots(name, [now, top_s, impact_s, finish_s], [first, a, b, 0.0])
        elif sd:
            stage.knots(name, [now, top_s, impact_s, finish_s], [first, first + a, first + b, first + c])
    for name in ("skin_roll", "skin_tip"):
        a, b = np.radians(rng.normal(0.0, [0.8, 0.5] if name == "skin_roll" else [0.5, 0.4])) * stage.slack("skin")
        stage.knots(name, [now, top_s, impact_s, finish_s], [stage.rest[name], a, b, 0.0])
        at, stage.now_s = stage.now_s, top_s - 0.1
        size = stage.slack("skin") * np.radians(rng.normal(0.0, 0.4))
        stage.burst(name, finish_s - top_s + 0.1, [(size, rng.uniform(5.0, 10.0), 0.0)], ramp_s=0.15)
        stage.now_s = at
