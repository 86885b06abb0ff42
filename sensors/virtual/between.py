"""What golfers do between swings: waggle, rehearse, walk, look at the grip, lean on the club, drop it, tee a ball.

Each act is written on a timeline from wherever the golfer stands and leaves them somewhere plausible; `step_up` brings them
back over the ball. Sizes and times are plausible, no source; every act draws its own from `rng`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from sensors.virtual.swing import ADDRESS, SwingShape, backswing
from sensors.virtual.timeline import Timeline

Rng = np.random.Generator
_HANDS: Final = ("grip_x", "grip_y", "grip_z")


def step_up(timeline: Timeline, rng: Rng, *, settle_s: float = 0.3) -> None:
    """Step to the ball from anywhere and settle, without waggle; the grip closes where it is."""
    timeline.move(
        rng.uniform(1.2, 1.7), **ADDRESS, yaw=rng.normal(0.0, 6.0), x_m=rng.normal(0.0, 0.02), y_m=0.0,
        **dict.fromkeys(_HANDS, 0.0),
    )  # fmt: skip
    timeline.hold(settle_s)


def stand(timeline: Timeline, rng: Rng) -> None:
    """Keep still over the ball before the swing."""
    timeline.hold(rng.uniform(0.7, 1.5))


def waggle(timeline: Timeline, rng: Rng) -> None:
    """Move the head back and forth over the ball one to three times, from the wrists or with the arms, then settle."""
    wrists, arms = rng.uniform(5.0, 16.0), rng.uniform(0.0, 9.0)
    cup, roll = rng.normal(0.0, 6.0), rng.uniform(0.0, 8.0)
    for _ in range(int(rng.integers(1, 4))):
        for side, part in ((1.0, 1.0), (-0.15, 0.8)):
            timeline.move(
                part * rng.uniform(0.2, 0.4), ulnar=ADDRESS["ulnar"] - side * wrists, theta=ADDRESS["theta"] + side * arms,
                roll=ADDRESS["roll"] + side * roll, flexion=ADDRESS["flexion"] + side * cup,
            )  # fmt: skip
    timeline.move(rng.uniform(0.2, 0.35), **{name: ADDRESS[name] for name in ("ulnar", "theta", "roll", "flexion")})
    timeline.hold(rng.uniform(0.1, 0.5))


def rehearse(timeline: Timeline, rng: Rng, *, reach: float, back_s: float, return_s: float) -> None:
    """Take the club slowly back and slowly down to the ball, where it stops.

    `reach` is the share of the backswing made (0.5 to the shaft level, 0.69 to the lead arm level, 1 to the top), `back_s` the
    time that a whole backswing would take at this pace, `return_s` the time of the way down.
    """
    backswing(timeline, SwingShape(fault=rng.uniform(0.0, 0.8), backswing_s=back_s, reach=reach))
    timeline.hold(rng.choice((0.0, rng.uniform(0.1, 1.2))))
    missed = {name: rng.normal(ADDRESS[name], 0.7) for name in ("theta", "roll", "ulnar")}
    timeline.move(return_s, **(ADDRESS | {"x_m": 0.0} | missed))
    timeline.hold(rng.uniform(0.3, 0.7))


def walk_off(timeline: Timeline, rng: Rng) -> None:
    """Let the club down, step back, look after the ball, turn the club in the fingers a little."""
    turn = rng.normal(0.0, 40.0)
    timeline.move(
        1.3, tilt=4.0, turn=0.0, plane=84.0, theta=rng.normal(0.0, 8.0), roll=rng.normal(0.0, 15.0),
        flexion=rng.normal(-5.0, 8.0), ulnar=rng.normal(0.0, 8.0), yaw=turn, y_m=-0.35, z_m=0.0,
    )  # fmt: skip
    timeline.move(0.9, yaw=turn / 2, roll=rng.normal(0.0, 20.0), y_m=-0.5, x_m=rng.normal(0.0, 0.2))


def walk(timeline: Timeline, rng: Rng) -> None:
    """Walk some steps with the club in the lead hand, bobbing, arm swinging, and turn about."""
    timeline.move(0.8, tilt=4.0, turn=0.0, plane=86.0, roll=rng.normal(0.0, 20.0), flexion=rng.normal(0.0, 8.0))
    yaw = rng.uniform(-180.0, 180.0)
    step_s, swing_deg, n = rng.uniform(0.45, 0.6), rng.uniform(8.0, 25.0), int(rng.integers(4, 14))
    x_m, y_m = rng.normal(0.0, 1.5), rng.normal(-1.5, 1.0)
    for k in range(n):
        way = (k + 1) / n
        timeline.path(
            step_s,
            {
                "theta": ((1.0, swing_deg * (-1.0) ** k),), "z_m": ((0.5, 0.03), (1.0, 0.0)),
                "yaw": ((1.0, yaw * way),), "x_m": ((1.0, x_m * way),), "y_m": ((1.0, -0.5 + y_m * way),),
                "ulnar": ((1.0, rng.normal(5.0, 5.0)),),
            },
        )  # fmt: skip
    timeline.hold(rng.uniform(0.3, 3.0))
    timeline.move(1.2, yaw=rng.normal(0.0, 30.0), theta=0.0, x_m=0.0, y_m=-0.5)


def turn_body(timeline: Timeline, rng: Rng) -> None:
    """Look to the target and back, club before the body."""
    timeline.move(
        rng.uniform(0.6, 1.2), yaw=rng.choice((-1.0, 1.0)) * rng.uniform(30.0, 100.0), turn=rng.normal(0.0, 10.0)
    )
    timeline.hold(rng.uniform(0.5, 2.0))
    timeline.move(rng.uniform(0.6, 1.2), yaw=0.0, turn=0.0)


def look_at_grip(timeline: Timeline, rng: Rng) -> None:
    """Raise the lead arm before the chest to look at the grip, open and close the fingers."""
    timeline.move(
        rng.uniform(0.6, 1.1), tilt=8.0, plane=rng.uniform(5.0, 40.0), theta=rng.normal(10.0, 15.0),
        roll=rng.normal(10.0, 25.0), ulnar=rng.uniform(-20.0, 0.0), flexion=rng.normal(0.0, 10.0),
    )  # fmt: skip
    timeline.hold(rng.uniform(0.4, 1.5))
    timeline.move(0.4, grip_x=rng.normal(0.0, 5.0), grip_z=rng.normal(0.0, 3.0))


def regrip(timeline: Timeline, rng: Rng, *, spread_deg: float = 2.0) -> None:
    """Open the hand and take the club anew, turned about its shaft for good by some degrees."""
    timeline.move(0.5, grip_x=rng.normal(0.0, 6.0), grip_z=rng.normal(0.0, 4.0), spin=rng.normal(0.0, 20.0))
    timeline.hold(rng.uniform(0.1, 0.6))
    timeline.move(0.5, **dict.fromkeys(_HANDS, 0.0), spin=rng.normal(0.0, spread_deg))


def lean(timeline: Timeline, rng: Rng) -> None:
    """Stand with the head on the ground and the hands on the butt, shaft near upright, for a while."""
    timeline.move(
        1.0, tilt=6.0, plane=86.0, theta=rng.normal(4.0, 4.0), ulnar=25.0, grip_x=-25.0, roll=rng.normal(0.0, 10.0)
    )
    timeline.hold(rng.uniform(1.0, 6.0))


def drop(timeline: Timeline, rng: Rng) -> None:
    """Let the club fall to the ground, stand beside it, stoop and pick it up."""
    side = rng.choice((-1.0, 1.0))
    timeline.path(0.45, {"grip_x": ((0.4, 15.0), (1.0, 75.0)), "spin": ((1.0, side * rng.uniform(60.0, 300.0)),)})
    timeline.hold(rng.uniform(0.5, 2.0))
    timeline.move(1.0, tilt=70.0, plane=88.0, theta=rng.normal(0.0, 10.0), z_m=-0.3)
    timeline.hold(0.4)
    timeline.move(1.1, tilt=5.0, z_m=0.0, **dict.fromkeys(_HANDS, 0.0), spin=rng.normal(0.0, 2.0))


def idle_swing(timeline: Timeline, rng: Rng) -> None:
    """Swing the club idly to and fro with the lead hand alone, from the wrist and a little of the arm."""
    timeline.move(0.6, tilt=5.0, plane=86.0, turn=0.0, grip_x=rng.normal(0.0, 8.0))
    reach = rng.uniform(15.0, 40.0)
    for k in range(int(rng.integers(2, 7))):
        side = (-1.0) ** k
        timeline.move(
            rng.uniform(0.35, 0.7), theta=side * reach, ulnar=5.0 - side * 18.0, flexion=side * rng.uniform(0.0, 25.0),
        )  # fmt: skip
    timeline.move(0.5, theta=0.0, ulnar=5.0, flexion=-5.0)


def tee_up(timeline: Timeline, rng: Rng) -> None:
    """Bend down to the ground with the club in the lead hand as a prop, set or pick up a ball, come up again."""
    timeline.move(
        rng.uniform(1.0, 1.5), tilt=rng.uniform(55.0, 85.0), z_m=rng.uniform(-0.4, -0.1), plane=80.0,
        theta=rng.normal(15.0, 15.0), ulnar=rng.uniform(-10.0, 20.0), roll=rng.normal(0.0, 20.0),
    )  # fmt: skip
    timeline.hold(rng.uniform(0.5, 1.5))
    timeline.move(rng.uniform(0.9, 1.3), tilt=8.0, z_m=0.0, theta=0.0)


def wait(timeline: Timeline, rng: Rng) -> None:
    """Stand about with the club hanging before the body, head near the ground."""
    timeline.move(1.0, tilt=rng.uniform(4.0, 20.0), plane=rng.uniform(74.0, 88.0), theta=rng.normal(2.0, 4.0), turn=0.0)
    timeline.hold(rng.uniform(1.0, 8.0))


Act = Callable[[Timeline, Rng], None]
AWAY: Final[tuple[Act, ...]] = (walk, turn_body, look_at_grip, regrip, lean, drop, idle_swing, tee_up, wait)
"""What is done away from the ball, or beside it: nothing of it is a swing."""
