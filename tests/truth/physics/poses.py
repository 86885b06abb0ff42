"""Poses by inverse kinematics on the engine's own geometry: address, top, impact, palm on the table."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import mujoco
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from tests.truth.physics.chain import INDEX
from tests.truth.physics.player import Player

Pose = dict[str, float]  # joint values in radians and metres; joints not named are 0
Limits = Mapping[str, tuple[float, float]]  # degrees


class Body:
    """Forward kinematics of one player."""

    def __init__(self, model: mujoco.MjModel, player: Player):
        self.player = player
        self._model = model
        self._data = mujoco.MjData(model)

    def put(self, pose: Pose) -> None:
        """Take this pose; what the other methods tell is of the last one put."""
        self._data.qpos[:] = 0.0
        for name, value in pose.items():
            self._data.qpos[INDEX[name]] = value
        mujoco.mj_kinematics(self._model, self._data)

    def place(self, site: str) -> NDArray[np.float64]:
        return self._data.site(site).xpos.copy()

    def axes(self, site: str) -> NDArray[np.float64]:
        """Columns are the site's axes in the world."""
        return self._data.site(site).xmat.reshape(3, 3).copy()

    def loose(self, body: str, pose: Pose, site: str) -> Pose:
        """Joint values that lay the loose body exactly on a site of this pose."""
        self.put(pose)
        rz, ry, rx = Rotation.from_matrix(self.axes(site)).as_euler("ZYX")
        x, y, z = self.place(site)
        return {f"{body}_{k}": v for k, v in zip(("x", "y", "z", "rz", "ry", "rx"), (x, y, z, rz, ry, rx), strict=True)}

    def solve(
        self, start: Pose, free: Limits, wish: Callable[[Body], NDArray[np.float64]], reluctance: float = 0.02
    ) -> Pose:
        """Change the free joints (range in degrees) so that `wish` becomes nearly zero, staying near the start."""
        names = list(free)
        low, high = np.radians(np.array([free[n] for n in names])).T
        first = np.clip([start.get(n, 0.0) for n in names], low + 1e-3, high - 1e-3)

        def residual(x):
            self.put({**start, **dict(zip(names, x, strict=True))})
            return np.concatenate([wish(self), reluctance * (x - first)])

        found = least_squares(residual, first, bounds=(low, high))
        return {**start, **dict(zip(names, found.x.tolist(), strict=True))}


def degrees(**angles: float) -> Pose:
    return {name: float(np.radians(value)) for name, value in angles.items()}


def shaft(body: Body) -> NDArray[np.float64]:
    """Direction from butt to head."""
    return -body.axes("club")[:, 1]


def address(body: Body, rng: np.random.Generator, bend_deg: float) -> Pose:
    """Shaft over the ball along y, lead hand under the chin, its back to the target; yaw and pelvis at 0."""
    m = body.player.mirror
    start = degrees(
        tilt=rng.normal(34, 3), turn=rng.normal(-2, 2), side=rng.normal(-4, 2), flex=38, adduct=28, humeral=10,
        elbow=rng.uniform(2, 8), pron=70, bend=bend_deg, dev=12,
    )  # fmt: skip
    lie = np.radians(rng.normal(55.0, 3.0))
    lean = np.radians(rng.normal(3.0, 3.0))
    goal = np.array([m * np.sin(lean), np.cos(lie) * np.cos(lean), -np.sin(lie) * np.cos(lean)])
    hand_x = -m * rng.normal(0.04, 0.02)

    def wish(b):
        hand = b.place("club")
        volar = b.axes("hand")[:, 0]
        return np.array([*(4.0 * (shaft(b) - goal)), 3.0 * (hand[0] - hand_x), 0.5 * (volar[0] - m * 0.95)])

    free = {"flex": (5, 80), "adduct": (0, 60), "pron": (10, 130), "dev": (-10, 25)}
    return body.solve(start, free, wish)


def top(body: Body, rng: np.random.Generator, at_address: Pose, bend_deg: float) -> Pose:
    """Shoulders turned, lead arm across and above level, shaft roughly level along the target line."""
    m = body.player.mirror
    start = {
        **at_address,
        **degrees(
            turn=rng.normal(88, 7), side=rng.normal(4, 3), elbow=rng.uniform(2, 14), bend=bend_deg,
            dev=np.clip(rng.normal(-23, 5), -35, -10), flex=75, adduct=45, pron=105, yaw=0.0,
        ),
    }  # fmt: skip
    arm_up, arm_back = np.radians([rng.normal(28, 8), rng.normal(20, 8)])
    arm = np.array([m * np.cos(arm_up) * np.cos(arm_back), -np.cos(arm_up) * np.sin(arm_back), np.sin(arm_up)])
    club_up, across = np.radians([rng.normal(10, 12), rng.normal(0, 12)])
    club = np.array([-m * np.cos(club_up) * np.cos(across), np.sin(across), np.sin(club_up)])

    def wish(b):
        return np.concatenate([2.0 * (-b.axes("forearm")[:, 1] - arm), 0.7 * (shaft(b) - club)])

    free = {"flex": (30, 130), "adduct": (10, 75), "pron": (40, 165)}
    return body.solve(start, free, wish)


def impact(body: Body, rng: np.random.Generator, at_address: Pose, bend_deg: float) -> Pose:
    """Body open, head back at the ball, shaft a little forward of where it lay."""
    m = body.player.mirror
    body.put(at_address)
    ball, lay = body.place("head"), shaft(body)
    lean = Rotation.from_euler("y", -m * np.radians(rng.normal(4.0, 2.0)))
    goal = lean.apply(lay)
    start = {**at_address, **degrees(turn=rng.normal(-22, 5), side=rng.normal(-8, 2), bend=bend_deg)}

    def wish(b):
        return np.concatenate(
            [4.0 * (shaft(b) - goal), 3.0 * (b.place("head") - ball)[:2], b.place("head")[2:] - ball[2:]]
        )

    free = {"flex": (5, 90), "adduct": (-20, 60), "pron": (0, 130), "dev": (-10, 30), "tilt": (20, 48)}
    return body.solve(start, free, wish)


def palm(body: Body, rng: np.random.Generator, slack: float = 1.0) -> Pose:
    """Palm flat on a table: forearm level within about 10 deg, palm down within 2 deg about the long axis."""
    slope, roll = slack * np.radians(rng.normal(0.0, [5.0, 2.0]))
    start = degrees(tilt=12, flex=25, adduct=5, elbow=75, pron=160, bend=rng.normal(-5, 6), dev=rng.normal(4, 5))

    def wish(b):
        axes = b.axes("forearm")
        # level: the long axis; palm down: volar straight down but for the slope, so radial-ulnar axis level but for the roll
        return np.array(
            [axes[2, 1] - np.sin(slope), axes[2, 2] - np.sin(roll) * np.cos(slope), 0.05 * (axes[2, 0] + 1.0)]
        )

    free = {"elbow": (40, 120), "pron": (60, 230), "humeral": (-60, 80)}
    return body.solve(start, free, wish, reluctance=1e-3)
