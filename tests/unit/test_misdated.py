"""What an uncertain date adds to a mark's stated uncertainty."""

import math

import numpy as np
import pytest

from fusion.outputs.instant import Angles, Phase, Spread
from fusion.swing.dating import rates_at
from fusion.swing.misdated import IMPACT_SD_S, MOST_S, date_sd_s, with_date

KNOWN = Spread(bend_rad=0.03, shaft_elevation_rad=0.01, shaft_pitch_rad=0.02)
RATES = Angles(bend_rad=-2.0, shaft_elevation_rad=5.0, shaft_pitch_rad=6.0, arm_elevation_rad=4.0)


def test_an_axis_that_is_wrong_by_an_angle_dates_the_arm_wrong_by_that_over_its_rate():
    assert date_sd_s(Phase.ARM_LEVEL, KNOWN, 0.04, RATES) == pytest.approx(0.01)
    found = with_date(Phase.ARM_LEVEL, KNOWN, 0.04, RATES)
    assert found.shaft_pitch_rad == pytest.approx(math.hypot(0.02, 0.06))
    assert found.bend_rad == pytest.approx(math.hypot(0.03, 0.02))
    assert found.face_twist_rad is None  # what is absent stays absent


def test_a_level_shaft_is_level_and_what_else_moves_is_known_less_well():
    found = with_date(Phase.SHAFT_LEVEL, KNOWN, 0.04, RATES)
    assert (found.shaft_elevation_rad, found.shaft_pitch_rad) == (0.01, 0.02)
    assert found.bend_rad == pytest.approx(math.hypot(0.03, 2.0 * 0.01 / 5.0))


def test_other_dates():
    assert date_sd_s(Phase.IMPACT, KNOWN, 0.04, RATES) == IMPACT_SD_S
    assert with_date(Phase.TOP, KNOWN, 0.04, RATES) == KNOWN  # where it is dated the arm stands
    assert date_sd_s(Phase.ARM_LEVEL, KNOWN, 0.04, Angles(arm_elevation_rad=0.1)) == MOST_S
    assert date_sd_s(Phase.ARM_LEVEL, KNOWN, 0.04, Angles()) == 0.0


def test_rates_are_those_of_the_parabola_through_the_samples():
    t_s = np.arange(0.0, 0.1, 0.005)
    values = np.column_stack([3.0 - 2.0 * t_s + 40.0 * t_s**2, np.full(len(t_s), 7.0)])
    assert rates_at(t_s, values, 0.05) == pytest.approx([-2.0 + 80.0 * 0.05, 0.0])
