"""A golfer as a chain of hinges: trunk, lead arm, wrist, club.

Modelled with the left arm leading (a right-handed player); the other side is its mirror image.

Earth: x to the player's right, y from the player to the ball line, z up; a right-handed player's target lies at -x.
The lead arm swings in a plane through the x axis that is inclined by `plane` (90 = vertical). Joint signs in degrees:

    yaw, tilt, turn   whole body about the vertical; trunk forward; trunk about the spine (+ toward the target)
    plane, theta      inclination of the arm's plane; arm in that plane, 0 = down the slope, 90 = level, away from target
    roll              forearm about its long axis, + in the pronation sense
    flexion           wrist, + bowed, - cupped
    ulnar             wrist, + toward the little finger, - toward the thumb
    axial             play of the hand about the forearm's axis: what a two-axis wrist does not have
    grip_x, _y, _z    club in the hand, 0 while the grip holds
    spin              club in the hand about its own shaft
    skin              forearm sensor about the forearm: soft tissue lets it lag behind the bone
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from scipy.interpolate import BSpline
from scipy.spatial.transform import Rotation

from sensors.ids import Side
from sensors.virtual.chain import Array, Motion

JOINTS = (
    "x_m", "y_m", "z_m", "yaw", "tilt", "turn", "plane", "theta", "roll", "flexion", "ulnar", "axial",
    "grip_x", "grip_y", "grip_z", "spin", "skin",
)  # fmt: skip

HANGING: Mapping[str, float] = dict.fromkeys(JOINTS, 0.0) | {"plane": 90.0, "tilt": 5.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Build:
    """Lengths of a body and its grip. Round figures of an adult; common practice, no source."""

    hip_height_m: float = 0.95
    spine_m: float = 0.50
    shoulder_m: float = 0.19
    arm_m: float = 0.60
    shaft_in_hand_deg: float = 38.0
    """Angle between the straight hand's direction and the shaft, toward the thumb: how the club lies in the hand."""
    forearm_sensor_m: tuple[float, float, float] = (-0.025, 0.04, 0.0)
    """From the wrist centre in forearm axes: on the back of the forearm, above the wrist."""
    hand_m: tuple[float, float, float] = (0.02, -0.08, 0.0)
    """From the wrist centre to where the shaft passes the hand, in hand axes."""
    club_sensor_m: float = 0.11
    """Along the shaft from there toward the head."""
    forearm_mount: Rotation = field(default_factory=Rotation.identity)
    """Forearm from sensor axes."""
    club_mount: Rotation = field(default_factory=Rotation.identity)
    """Club from sensor axes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Segments:
    """All that the sensors and the truth need, over n instants."""

    forearm: Motion
    hand: Motion
    club: Motion
    """Club axes: -y from butt to head, -x out of the face's back, as the hand's with the shaft in line."""
    forearm_sensor: Motion
    club_sensor: Motion

    def shaft(self) -> Array:
        """Unit vector from butt to head in the earth, shape (n, 3)."""
        return -self.club.R[:, :, 1]


def segments(curves: Mapping[str, BSpline], t_s: Array, build: Build, lead_side: Side) -> Segments:
    """Evaluate the chain at instants `t_s`, shape (n,)."""
    values = {
        name: [curve.derivative(k)(t_s) if k else curve(t_s) for k in (0, 1, 2)] for name, curve in curves.items()
    }

    def joint(motion: Motion, axis: str, name: str, sign: float = 1.0) -> Motion:
        q, qd, qdd = (sign * np.radians(v) for v in values[name])
        return motion.hinge(axis, q, qd, qdd)

    shift = [np.stack([values[n][k] for n in ("x_m", "y_m", "z_m")], axis=1) for k in (0, 1, 2)]
    base = joint(Motion.fixed(len(t_s)).offset((0.0, 0.0, build.hip_height_m)).shifted(*shift), "z", "yaw")
    trunk = joint(joint(base, "x", "tilt", -1.0), "z", "turn")
    shoulder = trunk.offset((-build.shoulder_m, 0.03, build.spine_m))
    arm = joint(base, "x", "plane", -1.0).turned(Rotation.from_euler("x", 180, degrees=True))
    forearm = joint(joint(arm, "z", "theta"), "y", "roll", -1.0).at_point_of(shoulder).offset((0.0, -build.arm_m, 0.0))
    hand = joint(joint(joint(forearm, "z", "flexion"), "x", "ulnar", -1.0), "y", "axial")
    grip = joint(joint(joint(hand.offset(build.hand_m), "x", "grip_x"), "y", "grip_y"), "z", "grip_z")
    club = joint(grip.turned(Rotation.from_euler("x", build.shaft_in_hand_deg, degrees=True)), "y", "spin")
    skin = joint(forearm, "y", "skin")
    if lead_side is Side.RIGHT:
        forearm, hand, club, skin = forearm.mirrored(), hand.mirrored(), club.mirrored(), skin.mirrored()
    flip = 1.0 if lead_side is Side.LEFT else -1.0
    x, y, z = build.forearm_sensor_m
    return Segments(
        forearm=forearm,
        hand=hand,
        club=club,
        forearm_sensor=skin.offset((x, y, flip * z)).turned(build.forearm_mount),
        club_sensor=club.offset((0.0, -build.club_sensor_m, 0.0)).turned(build.club_mount),
    )
