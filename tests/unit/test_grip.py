"""A club let go and taken anew: wrists drawn by scipy, no sensors; the two models are in tests/bench/bench_regrip.py."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from fusion.address import Address
from fusion.grip import DRIFT_RAD_S, GripWatch
from fusion.joints.wrist import WristAngles
from fusion.outputs.rep import RepFlag
from fusion.rotation import IDENTITY
from sensors.ids import Side
from tests.orientations import quat_of
from tests.unit.test_fit import HANGING, Body
from tests.unit.test_turned import fitted

TICK_S = 0.05


class Golfer:
    """Stands to the ball, and moves arm and club before the next address."""

    def __init__(self, seed=1, side=Side.LEFT):
        self.body, self.rng = Body(seed, side), np.random.default_rng(seed)
        self.watch = GripWatch(fitted(seed, side))
        self.now_s = 0.0

    def stand(self, bend_deg=-8.0, hinge_deg=12.0):
        bend, hinge = np.radians([bend_deg, hinge_deg])
        self.watch.stood(
            Address(
                t_s=self.now_s, q_earth_from_forearm_free=IDENTITY, q_earth_from_club_free=IDENTITY,
                wrist=WristAngles(bend, hinge, 0.0), q_earth_from_forearm=IDENTITY, q_earth_from_club=IDENTITY,
                shaft=(0.0, 0.7, -0.7),
            )
        )  # fmt: skip

    def look(self, arm, wrist, *, spin_deg=0.0, trouble_s=-math.inf):
        self.now_s += TICK_S
        forearm = arm * HANGING
        spin = Rotation.from_rotvec(np.radians(spin_deg) * self.body.shaft)
        club = forearm * wrist * self.body.sensor_from_hand.inv() * spin
        pair = (self.now_s, quat_of(forearm * self.body.sensor_from_forearm.inv()), quat_of(club), 9.8, 9.8)
        self.watch.look(pair, trouble_s)

    def wander(self, seconds, **more):
        """Everything that an arm and a wrist do with a club held."""
        for t in np.arange(0.0, seconds, TICK_S):
            arm = Rotation.from_euler("zxy", [200 * t, 60 * math.sin(2 * t), 70 * math.cos(1.3 * t)], degrees=True)
            wrist = self.body.wrist(60 * math.sin(3 * t), 10 + 25 * math.cos(2.2 * t))
            self.look(arm, wrist, **more)

    @property
    def told(self):
        return self.watch.flags == (RepFlag.REGRIPPED,)


@pytest.mark.parametrize("side", list(Side))
def test_a_club_that_stays_in_the_hand_is_not_told(side):
    golfer = Golfer(side=side)
    golfer.stand()
    golfer.wander(20.0)
    assert not golfer.told


@pytest.mark.parametrize("side", list(Side))
def test_a_club_spun_in_the_fingers_is_told_until_the_next_rep(side):
    golfer = Golfer(side=side)
    golfer.stand()
    golfer.wander(2.0)
    golfer.wander(1.0, spin_deg=110.0)
    golfer.wander(2.0)
    assert golfer.told
    golfer.stand()
    assert golfer.told
    golfer.watch.swung()
    assert not golfer.told


def test_a_club_that_lies_still_while_the_arm_turns_is_told():
    golfer = Golfer()
    start = HANGING * golfer.body.wrist(0, 0)
    golfer.look(Rotation.identity(), golfer.body.wrist(0, 0))
    for degrees in np.linspace(0.0, 60.0, 30):
        arm = Rotation.from_euler("z", degrees, degrees=True)
        golfer.look(arm, (arm * HANGING).inv() * start)
    assert golfer.told


def test_after_a_hole_nothing_is_told_until_the_next_address():
    golfer = Golfer()
    golfer.stand()
    golfer.wander(3.0, spin_deg=110.0, trouble_s=0.01)
    assert not golfer.told
    golfer.stand()
    golfer.wander(3.0, spin_deg=110.0, trouble_s=0.01)
    assert golfer.told


def test_a_long_wait_leaves_room_for_drift():
    """The heading wanders: what is too far after two seconds may be drift after minutes."""
    golfer = Golfer()
    golfer.stand()
    golfer.now_s = 180.0
    drifted = Rotation.from_euler("z", 0.8 * math.degrees(DRIFT_RAD_S) * 180.0, degrees=True)
    for _ in range(20):
        golfer.look(Rotation.identity(), HANGING.inv() * drifted * HANGING * golfer.body.wrist(0, 0))
    assert not golfer.told


def test_a_wrist_that_stands_otherwise_at_address_is_told_once():
    golfer = Golfer()
    told = []
    for swing in range(30):
        step = 16.0 if swing >= 20 else 0.0
        golfer.stand(-8.0 + step + golfer.rng.normal(0.0, 2.0), 12.0 + golfer.rng.normal(0.0, 2.0))
        told.append(golfer.told)
        golfer.watch.swung()
    assert [swing for swing, one in enumerate(told) if one] == [20]
