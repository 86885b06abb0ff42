"""The heading seen again as the arm rises, against scipy's rotations: what a turn about the vertical does to a wrist."""

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from fusion.joints.settling import HEADING_SD_RAD, PLAY_SD_RAD, Settling, levers
from fusion.joints.wrist import anatomical_angles
from fusion.rotation import inverse, mul
from sensors.ids import Side
from tests.orientations import quat_of

STEP_RAD = 1e-5
ADDRESS = (0.0, -60.0)
"""Turn of the body and elevation of the forearm, degrees."""
LEVEL = (50.0, 0.0)


def arm(turn_deg: float, elevation_deg: float, roll_deg: float) -> Rotation:
    """A forearm whose distal end (-y) looks that way; ISB axes (Wu et al. 2005)."""
    return Rotation.from_euler("ZXY", [turn_deg, -elevation_deg, roll_deg], degrees=True)


def hand_of(forearm: Rotation, flexion_deg: float, about_x_deg: float, axial_deg: float = 0.0) -> Rotation:
    return forearm * Rotation.from_euler("ZXY", [flexion_deg, about_x_deg, axial_deg], degrees=True)


def wrist(forearm: Rotation, hand: Rotation, side: Side):
    return anatomical_angles(mul(inverse(quat_of(forearm)), quat_of(hand)), side)


@pytest.mark.parametrize("side", list(Side))
def test_the_levers_are_what_a_small_turn_about_the_vertical_does(side):
    rng = np.random.default_rng(5)
    for _ in range(40):
        forearm = Rotation.random(rng=rng)
        hand = hand_of(forearm, *rng.uniform([-60.0, -40.0, -20.0], [60.0, 40.0, 20.0]))
        now = wrist(forearm, hand, side)
        then = wrist(forearm, Rotation.from_euler("z", STEP_RAD) * hand, side)
        moved = [math.remainder(b - a, math.tau) / STEP_RAD for a, b in zip(now, then, strict=True)]
        assert levers(quat_of(forearm), quat_of(hand), now, side) == pytest.approx(moved, abs=2e-4)


def swung(side: Side, error_deg: float, play_deg: float = 0.0) -> tuple[Settling, float, float]:
    """From address to a level arm with the hand's world turned by an error; the settling, and bend since address with and
    without it, less the true one, degrees."""
    true, read = [], []
    settling, axial = None, 0.0
    for (turn, elevation), bend, tilt, roll, play in (
        (ADDRESS, -10.0, 25.0, 0.0, 0.0),
        (LEVEL, -30.0, -15.0, 40.0, play_deg),
    ):
        forearm = arm(turn, elevation, roll)
        hand = hand_of(forearm, bend, tilt, play)
        seen = Rotation.from_euler("z", error_deg, degrees=True) * hand
        now = wrist(forearm, seen, side)
        lever = levers(quat_of(forearm), quat_of(seen), now, side)
        if settling is None:
            settling, axial = Settling(lever), now.axial_rad
        turn_rad = settling.push(now.axial_rad - axial, lever.axial, arm_level=False)
        true.append(bend)
        read.append((math.degrees(now.flexion_rad), math.degrees(now.flexion_rad + lever.bend * turn_rad)))
        at_address = math.degrees(settling.at_address.bend * turn_rad)
    plain, settled = (read[1][i] - read[0][0] - (true[1] - true[0]) for i in (0, 1))
    return settling, plain, settled - at_address


@pytest.mark.parametrize("side", list(Side))
@pytest.mark.parametrize("error_deg", [3.0, -3.0, 1.0])
def test_a_wrong_heading_is_undone_by_the_share_that_its_spread_and_that_of_play_say(side, error_deg):
    settling, plain, settled = swung(side, error_deg)
    # The most probable value of a normal quantity of known spread read with normal noise: gain = P H^2 / (P H^2 + R).
    forearm, level = arm(*ADDRESS, 0.0), arm(*LEVEL, 40.0)
    at, there = (
        levers(quat_of(f), quat_of(h), wrist(f, h, side), side).axial
        for f, h in ((forearm, hand_of(forearm, -10.0, 25.0)), (level, hand_of(level, -30.0, -15.0)))
    )
    signal = (HEADING_SD_RAD * (there - at)) ** 2
    gain = signal / (signal + PLAY_SD_RAD**2)
    assert math.degrees(settling.turn_rad) == pytest.approx(-gain * error_deg, rel=0.06)
    assert abs(settled) < abs(plain)


@pytest.mark.parametrize("side", list(Side))
def test_without_error_or_play_nothing_is_turned(side):
    settling, plain, settled = swung(side, 0.0)
    assert settling.turn_rad == pytest.approx(0.0, abs=1e-12)
    assert settled == pytest.approx(plain, abs=1e-9)


def test_play_alone_is_taken_for_heading_in_part_and_never_for_more_than_twice_its_spread():
    for play_deg in (1.0, 90.0):
        settling, _, _ = swung(Side.LEFT, 0.0, play_deg)
        assert 0.0 < abs(settling.turn_rad) <= 2 * HEADING_SD_RAD


def test_once_the_arm_was_level_nothing_changes():
    forearm = arm(*ADDRESS, 0.0)
    hand = hand_of(forearm, 0.0, 20.0)
    settling = Settling(levers(quat_of(forearm), quat_of(hand), wrist(forearm, hand, Side.LEFT), Side.LEFT))
    first = settling.push(0.02, 0.1, arm_level=True)
    assert first != 0.0
    assert settling.push(-0.05, -0.3, arm_level=False) == first
