"""The set-up moves as people do them: coupled, a little off, with a hand that never quite holds still."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tests.truth.physics.handling import LOOSE, TABLE, attitudes, lay_aside, nearest, put_on, ready, take_up
from tests.truth.physics.poses import degrees, palm
from tests.truth.physics.stage import Stage


def set_up(stage: Stage, *, brief: bool = False) -> None:
    """All moves in their usual order; leaves the player standing with the club in hand, both sensors worn.

    With `brief` some are made again afterwards, shorter, as one who has done it before does them.
    """
    laid = {f"{body}_rz": stage.rng.uniform(-np.pi, np.pi) for body in LOOSE}
    laid |= {f"{body}_{axis}": np.radians(stage.rng.normal(0.0, 1.0)) for body in LOOSE for axis in ("ry", "rx")}
    stage.begin(TABLE | laid | ready(stage))
    for sensor, body in (("forearm", "loosef"), ("club", "loosec")):
        stage.carriers[sensor] = [(0.0, f"{body}_sensor")]
    still(stage)
    for ups in zip(*(attitudes(stage.rng) for _ in LOOSE), strict=True):
        attitude(stage, dict(zip(LOOSE, ups, strict=True)))
    put_on(stage)
    neutral(stage)
    bend(stage)
    hinge(stage)
    roll(stage)
    twirl(stage)
    locked(stage)
    palm_down(stage)
    if brief:
        twirl(stage, n=2)
        neutral(stage, hold_s=1.5)
        locked(stage, n=4)
        roll(stage, n=2)


def still(stage: Stage) -> None:
    stage.wait(1.0)
    start_s = stage.now_s
    stage.wait(5.0)
    stage.mark("still", start_s)


def attitude(stage: Stage, ups: dict[str, NDArray[np.float64]]) -> None:
    """Both sensors turned so that this direction of each looks up, and held: on the table or, half of the time, in the hand."""
    for body in LOOSE:
        x, y, z = ups[body]
        goal = {
            "rz": stage.rest[f"{body}_rz"] + stage.rng.uniform(-1.5, 1.5),
            "ry": -np.arcsin(x),
            "rx": np.arctan2(y, z),
        }
        pose = {f"{body}_{axis}": nearest(angle, stage.rest[f"{body}_{axis}"]) for axis, angle in goal.items()}
        pose |= {f"{body}_{axis}": TABLE[f"{body}_{axis}"] + stage.rng.normal(0.0, 0.05) for axis in ("x", "y")}
        stage.go(pose, stage.rng.uniform(0.8, 1.4), wait=False)
    stage.wait(1.5)
    held = bool(stage.rng.integers(2))
    for body in LOOSE if held else ():
        for axis in ("rz", "ry", "rx"):
            stage.sway(f"{body}_{axis}", 2.2, np.radians(0.06), 0.5, 3.0, ramp_s=0.2)
    start_s = stage.now_s
    stage.wait(2.2)
    stage.mark("attitude", start_s)


def neutral(stage: Stage, hold_s: float = 3.3) -> None:
    """Wrist straight as far as the person can tell: 2.5 deg sd in flexion and in deviation."""
    off = stage.slack("neutral") * stage.rng.normal(0.0, 2.5, 2)
    hanging = bool(stage.rng.integers(2))
    arm = degrees(tilt=4, flex=8, adduct=2, elbow=6) if hanging else degrees(flex=55, adduct=12, elbow=15)
    stage.go(arm | degrees(bend=off[0], dev=off[1], axial=0, pron=70 + stage.rng.normal(0, 6)), 1.4)
    stage.wait(0.5)
    start_s = stage.now_s
    stage.wait(hold_s)
    stage.mark("neutral", start_s)


def cycles(stage: Stage, joint: str, low_deg: float, high_deg: float, n: int, coupled: dict[str, float]) -> None:
    """Back and forth n times from where the joint rests, the coupled joints going with it by a share."""
    home = np.degrees(stage.rest[joint])
    for _ in range(n):
        for end in (low_deg, high_deg):
            goal = end * stage.rng.normal(1.0, 0.08)
            pose = degrees(**{joint: goal})
            for other, share in coupled.items():
                pose[other] = stage.rest[other] + np.radians(share * (goal - np.degrees(stage.rest[joint])))
            stage.go(pose, stage.rng.uniform(0.45, 0.65))
    pose = degrees(**{joint: home})
    for other, share in coupled.items():
        pose[other] = stage.rest[other] + np.radians(share * (home - np.degrees(stage.rest[joint])))
    stage.go(pose, 0.6)


def bend(stage: Stage) -> None:
    """Flexion and extension; ulnar deviation goes with flexion (Crisco et al. 2011, J Bone Joint Surg Am)."""
    stage.go(ready(stage) | degrees(flex=45, elbow=45), 1.0)
    start_s = stage.now_s
    wobble(stage, 6.0, ("flex", "adduct", "pron"), 1.0)
    cycles(stage, "bend", -35, 35, 4, {"dev": stage.rng.normal(0.25, 0.1), "pron": stage.rng.normal(0.0, 0.05)})
    stage.mark("bend", start_s)
    stage.wait(0.5)


def hinge(stage: Stage) -> None:
    start_s = stage.now_s
    wobble(stage, 6.0, ("flex", "adduct", "pron"), 1.0)
    cycles(stage, "dev", -20, 22, 4, {"bend": stage.rng.normal(0.2, 0.12), "pron": stage.rng.normal(0.0, 0.05)})
    stage.mark("hinge", start_s)
    stage.wait(0.5)


def roll(stage: Stage, n: int = 4) -> None:
    """Forearm turned +-50 deg with the wrist held, elbow bent or straight, the shoulder not quite still."""
    stage.go(degrees(elbow=85, flex=10) if stage.rng.integers(2) else degrees(elbow=8, flex=50), 1.0)
    start_s = stage.now_s
    wobble(stage, 6.5, ("flex", "adduct", "humeral"), 1.5)
    wobble(stage, 6.5, ("bend", "dev"), 0.8)
    middle = np.degrees(stage.rest["pron"])
    cycles(stage, "pron", middle - 50, middle + 50, n, {})
    stage.mark("roll", start_s)
    stage.wait(0.5)


def twirl(stage: Stage, n: int = 3) -> None:
    """The club spun in the fingers, back and forth; it ends within about 2 deg of where it was."""
    stage.go(degrees(elbow=60, flex=25, bend=5, dev=-5), 1.0)
    start_s = stage.now_s
    wobble(stage, 5.5, ("bend", "dev", "pron"), 1.2)
    wobble(stage, 5.5, ("grip_x", "grip_z"), 0.25)
    home = stage.rest["spin"]
    for sign in (1, -1) * n:
        stage.go({"spin": home + sign * np.radians(stage.rng.uniform(50, 90))}, stage.rng.uniform(0.55, 0.8))
    stage.go({"spin": home + stage.slack("regrip") * np.radians(stage.rng.normal(0.0, 1.5))}, 0.6)
    stage.mark("twirl", start_s)
    stage.wait(0.4)


def locked(stage: Stage, n: int = 6) -> None:
    """Wrist held within about a degree, the arm swung +-40 deg in two planes."""
    stage.go(ready(stage) | degrees(elbow=8, flex=45, adduct=10, bend=-3, dev=2), 1.0)
    start_s = stage.now_s
    wobble(stage, 5.6, ("bend", "dev"), 0.5)
    flex, adduct = np.degrees([stage.rest["flex"], stage.rest["adduct"]])
    for i in range(n):
        sign = 1 if i % 2 else -1
        goal = degrees(flex=flex + 38 * sign) if i < n // 2 else degrees(adduct=adduct + 32 * sign)
        stage.go(goal, stage.rng.uniform(0.65, 0.8))
    stage.go(degrees(flex=flex, adduct=adduct), 0.7)
    stage.mark("locked", start_s)
    stage.wait(0.4)


def palm_down(stage: Stage) -> None:
    """The club laid aside, the palm put flat, the club taken again."""
    lay_aside(stage)
    stage.go(palm(stage.body, stage.rng, stage.slack("palm")), 1.5)
    stage.wait(0.4)
    start_s = stage.now_s
    stage.wait(3.2)
    stage.mark("palm", start_s)
    take_up(stage, spin_deg=2.0, other_deg=1.0)


def wobble(stage: Stage, seconds: float, joints: tuple[str, ...], rms_deg: float) -> None:
    """What is meant to be still moves a little, from now on."""
    for joint in joints:
        stage.sway(joint, seconds, np.radians(rms_deg), 0.3, 1.2, n=3, ramp_s=0.5)
