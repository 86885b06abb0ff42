"""Things taken in hand and put down: the sensors from the table to arm and club, the club laid aside and taken again."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tests.truth.physics.poses import Pose, degrees
from tests.truth.physics.stage import Stage

TABLE: Pose = {
    "loosef_x": 0.55,
    "loosef_y": 0.35,
    "loosef_z": 0.74,
    "loosec_x": 0.65,
    "loosec_y": 0.32,
    "loosec_z": 0.74,
}
LOOSE = ("loosef", "loosec")


def ready(stage: Stage) -> Pose:
    """Standing, club held in front with a straight-ish wrist."""
    jitter = stage.rng.normal(0.0, 2.0, 5)
    return degrees(
        tilt=12 + jitter[0], turn=0, side=0, flex=35 + jitter[1], adduct=8 + jitter[2], humeral=10, elbow=25 + jitter[3],
        pron=75 + jitter[4],
    )  # fmt: skip


def attitudes(rng: np.random.Generator) -> list[NDArray[np.float64]]:
    """Each face up once and two edges, in any order, as exactly as one holds a thing without looking: 12 deg."""
    ups = [*np.eye(3), *-np.eye(3), *(rng.choice([-1.0, 1.0], (2, 3)) * [[1.0, 1.0, 0.0], [0.0, 1.0, 1.0]])]
    ups = [up / np.linalg.norm(up) + rng.normal(0.0, np.radians(12.0), 3) for up in ups]
    return [ups[i] / np.linalg.norm(ups[i]) for i in rng.permutation(len(ups))]


def nearest(angle: float, to: float) -> float:
    """The same direction, less than half a turn from where it was."""
    return to + (angle - to + np.pi) % (2.0 * np.pi) - np.pi


def put_on(stage: Stage) -> None:
    """From the table to the limb and the shaft; the data go on through it."""
    for body, site in (("loosef", "forearm_sensor"), ("loosec", "club_sensor")):
        stage.go(stage.follow(body, site), stage.rng.uniform(2.0, 3.0), wait=False)
    stage.wait(3.2)
    stage.quiet()
    stage.carry("forearm", "forearm_sensor")
    stage.carry("club", "club_sensor")
    stage.wait(1.5)


def lay_aside(stage: Stage, *, dropped: bool = False) -> None:
    """The club leaves the hand and leans on something, or falls."""
    stage.go(ready(stage), 1.2)
    stage.quiet()
    here = stage.follow("loosec", "club_sensor")
    for name, value in here.items():
        stage.knots(name, [stage.now_s - 1e-3, stage.now_s], [stage.rest[name], value])
    stage.carry("club", "loosec_sensor")
    turn = np.radians(stage.rng.normal(0.0, 40.0, 3))
    pose = {f"loosec_{axis}": here[f"loosec_{axis}"] + a for axis, a in zip(("rz", "ry", "rx"), turn, strict=True)}
    pose["loosec_z"], pose["loosec_y"] = (0.05 if dropped else 0.6), here["loosec_y"] + stage.rng.uniform(0.1, 0.5)
    stage.go(pose, 0.45 if dropped else 1.2)


def take_up(stage: Stage, *, spin_deg: float, other_deg: float) -> None:
    """The club taken again, nearly as it was held before."""
    turn = stage.slack("regrip") * np.radians(stage.rng.normal(0.0, [spin_deg, other_deg, other_deg]))
    regripped = dict(zip(("spin", "grip_x", "grip_z"), turn, strict=True))
    stage.go(ready(stage) | regripped | degrees(bend=0, dev=0), 1.5)
    stage.wait(1.0)
    stage.go(stage.follow("loosec", "club_sensor"), 1.4)
    stage.quiet()
    stage.carry("club", "club_sensor")
    stage.wait(0.6)
