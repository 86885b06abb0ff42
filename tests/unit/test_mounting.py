"""How a fit names the way the sensors sit, and how well it knows each constant. Mounts are built by scipy from the words."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from fusion.calibration.quality import report_of
from fusion.calibration.solve import solve_fit
from fusion.outputs.fit import ArmSide, Constant
from sensors.ids import Move, Role, Side
from sensors.profiles.open_imu import OPEN_IMU
from server.mounting_advice import mounting_advice, mounting_sentence
from tests.unit.test_fit import Body

WORN = dict.fromkeys(Role, OPEN_IMU.worn)
UPSIDE_DOWN = Rotation.from_euler("z", 180, degrees=True)  # about the sensor's own top


def top_to(side, lead):
    """Forearm from sensor axes (X volar, Y proximal, Z to the right of a body whose palms look ahead): y up, top to that side."""
    thumb = -1.0 if lead is Side.LEFT else 1.0  # palms ahead, thumbs point outward: to the left on a left arm
    z = {
        ArmSide.BACK: (-1, 0, 0),
        ArmSide.PALM: (1, 0, 0),
        ArmSide.THUMB: (0, 0, thumb),
        ArmSide.LITTLE_FINGER: (0, 0, -thumb),
    }[side]
    y = np.array([0.0, 1.0, 0.0])
    return Rotation.from_matrix(np.column_stack([np.cross(y, z), y, z]))


def mounted(forearm_from_sensor, lead=Side.LEFT, club_turn=None):
    body = Body(2, lead)
    body.sensor_from_forearm = forearm_from_sensor.inv()
    # The shaft straight down the sensor's y axis, or up it.
    down = np.array([0.0, -1.0, 0.0]) if club_turn is None else club_turn.apply([0.0, -1.0, 0.0])
    body.sensor_from_hand = Rotation.align_vectors([down], [body.shaft_hand])[0]
    body.shaft = body.sensor_from_hand.apply(body.shaft_hand)
    return solve_fit(body.all(), lead, Move.ADDRESS)


@pytest.mark.parametrize(("side", "lead"), [*((side, Side.LEFT) for side in ArmSide), (ArmSide.THUMB, Side.RIGHT)])
def test_the_side_of_the_arm_is_named(side, lead):
    forearm, club = report_of(mounted(top_to(side, lead), lead), WORN).mountings
    assert (forearm.role, forearm.axis, forearm.side, forearm.upside_down) == (Role.FOREARM, "+y", side, False)
    assert (club.role, club.axis, club.side, club.upside_down) == (Role.CLUB, "+y", None, False)
    assert max(forearm.off_rad, club.off_rad) < math.radians(2.0)
    told = mounting_advice(forearm)
    assert told == "" if side is ArmSide.BACK else side.value.split("_")[0] in told
    assert mounting_advice(club) == ""


def test_a_forearm_sensor_turned_end_for_end_is_named_and_measured_all_the_same():
    upright, turned = (mounted(top_to(ArmSide.BACK, Side.LEFT) * turn) for turn in (Rotation.identity(), UPSIDE_DOWN))
    forearm, _ = report_of(turned, WORN).mountings
    assert (forearm.axis, forearm.upside_down, forearm.side) == ("-y", True, ArmSide.BACK)
    assert "forearm sensor is on upside down" in mounting_advice(forearm)
    assert turned.sd_rad() == pytest.approx(upright.sd_rad(), rel=0.02)


def test_a_clip_turned_end_for_end_is_named():
    _, club = report_of(mounted(top_to(ArmSide.BACK, Side.LEFT), club_turn=UPSIDE_DOWN), WORN).mountings
    assert (club.axis, club.upside_down) == ("-y", True)
    assert "club's sensor is on upside down" in mounting_advice(club)


def test_of_data_from_elsewhere_only_the_axis_is_told():
    report = report_of(mounted(top_to(ArmSide.PALM, Side.LEFT) * UPSIDE_DOWN), {})
    for mounting in report.mountings:
        assert (mounting.upside_down, mounting.side) == (None, None)
        assert mounting_advice(mounting) == ""
        assert mounting.axis in mounting_sentence(mounting)


def test_a_sensor_worn_crosswise_is_not_upside_down():
    crosswise = top_to(ArmSide.BACK, Side.LEFT) * Rotation.from_euler("z", 90, degrees=True)
    forearm, _ = report_of(mounted(crosswise), WORN).mountings
    assert (forearm.axis[1], forearm.upside_down) == ("x", False)


@cache
def known_without(*moves):
    body = Body(3, Side.LEFT)
    return report_of(solve_fit([m for m in body.all() if m.move not in moves], Side.LEFT, Move.ADDRESS), {}).sd_rad


@pytest.mark.parametrize(
    ("constant", "moves"),
    [
        (Constant.FOREARM_AXIS, (Move.ROLL,)),
        (Constant.FOREARM_ROLL, (Move.PALM,)),
        (Constant.SHAFT, (Move.TWIRL,)),
        (Constant.CLIP_ROLL, (Move.ADDRESS,)),
        (Constant.HAND_CLUB, (Move.NEUTRAL, Move.HINGE)),
    ],
)
def test_each_constant_is_known_less_well_without_the_move_that_shows_it(constant, moves):
    assert set(known_without()) == set(Constant)
    assert known_without(*moves).get(constant, math.inf) > 1.1 * known_without()[constant]


def test_a_constant_that_nothing_shows_is_missing():
    fit = solve_fit(Body(3, Side.LEFT).all(), Side.LEFT, Move.ADDRESS)
    covariance = np.array(fit.covariance)
    covariance[6, 6] = math.radians(60.0) ** 2
    blurred = replace(fit, covariance=tuple(map(tuple, covariance.tolist())))
    assert Constant.SHAFT not in report_of(blurred, {}).sd_rad
