"""A player, their club, and how the sensors sit: drawn at random."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial.transform import Rotation

DAY_TO_DAY_DEG = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Player:
    """One player with their club and the way the sensors sit; lengths in metres, angles in radians."""

    lead_left: bool
    shoulder_m: float  # half the shoulder width
    torso_m: float  # hip to shoulder height
    upper_arm_m: float
    forearm_m: float
    palm_m: float  # wrist to the middle of the grip
    club_m: float  # butt to head
    grip_butt_m: float  # middle of the lead hand to the butt
    grip_angle_rad: float  # shaft against the forearm's distal direction, toward the thumb, wrist straight
    grip_volar_rad: float  # shaft out of the hand's radial-ulnar plane, toward the palm
    forearm_mount: Rotation  # segment <- sensor
    club_mount: Rotation

    def on_another_day(self, rng: np.random.Generator) -> Player:
        """The same person and club: strap and clip put on anew, the club held a little otherwise (no source)."""
        lean, turn = np.radians(rng.normal(0.0, DAY_TO_DAY_DEG, 2))
        return replace(
            self,
            grip_angle_rad=self.grip_angle_rad + turn,
            grip_volar_rad=self.grip_volar_rad + lean,
            forearm_mount=draw_mount(rng),
            club_mount=draw_mount(rng),
        )

    @property
    def mirror(self) -> float:
        """+1 for a left lead arm (right-handed player), -1 for its mirror image."""
        return 1.0 if self.lead_left else -1.0

    @property
    def arm_m(self) -> float:
        """Shoulder to the middle of the grip."""
        return self.upper_arm_m + self.forearm_m + self.palm_m


def draw_player(rng: np.random.Generator, *, lead_left: bool) -> Player:
    """A random adult; body proportions from memory, only their spread matters here."""
    size = rng.normal(1.0, 0.04)
    return Player(
        lead_left=lead_left,
        shoulder_m=0.18 * size,
        torso_m=0.50 * size,
        upper_arm_m=0.30 * size,
        forearm_m=0.26 * size,
        palm_m=0.075 * size,
        club_m=float(rng.choice([0.90, 0.94, 0.97, 1.09, 1.14])),
        grip_butt_m=rng.uniform(0.06, 0.10),
        grip_angle_rad=np.radians(rng.normal(51.0, 5.0)),
        grip_volar_rad=np.radians(rng.normal(4.0, 4.0)),
        forearm_mount=draw_mount(rng),
        club_mount=draw_mount(rng),
    )


def draw_mount(rng: np.random.Generator) -> Rotation:
    """Any roll about the limb or shaft (local y), about 5 deg askew, upside down half of the time."""
    roll = Rotation.from_euler("y", rng.uniform(0.0, 2.0 * np.pi))
    flip = Rotation.from_euler("x", np.pi * rng.integers(2))
    return Rotation.from_rotvec(np.radians(rng.normal(0.0, [5.0, 0.1, 5.0]))) * roll * flip
