"""The model golfer's practices: laid out as asked, and what a blow does to the sensors."""

import numpy as np
import pytest

from sensors.ids import Role, Side
from sensors.virtual.blow import shaking
from sensors.virtual.golfer import Build, segments
from sensors.virtual.practice import make_practice
from sensors.virtual.swing import SwingShape
from tests.motion import Scene, beginning


def test_swing_follows_swing_unless_asked_to_be_spread():
    practice = make_practice([SwingShape()] * 3, np.random.default_rng(1))
    starts = [mark.start_s for mark in practice.swings]
    assert np.diff(starts).max() < 12.0
    assert practice.pastimes == ()


def test_a_long_practice_fills_its_time_and_loses_no_swing():
    shapes = [SwingShape(strikes=k % 3 > 0) for k in range(10)]
    practice = make_practice(shapes, np.random.default_rng(2), spread_over_s=300.0)
    starts = np.array([mark.start_s for mark in practice.swings])
    assert np.diff(starts).mean() == pytest.approx(30.0, abs=3.0)
    assert [mark.strikes for mark in practice.swings] == [shape.strikes for shape in shapes]
    for past in practice.pastimes:
        assert past.start_s < past.end_s
        assert not any(past.start_s < mark.impact_s < past.end_s for mark in practice.swings)
    assert len({past.name for past in practice.pastimes}) > 8


def test_regrips_turn_the_club_in_the_hand_for_good_by_about_two_degrees():
    practice = make_practice([SwingShape()] * 12, np.random.default_rng(3), spread_over_s=500.0)
    at_address = [float(practice.curves["spin"](mark.start_s)) for mark in practice.swings]
    assert 0.5 < np.std(at_address) < 4.0


@pytest.mark.parametrize("shape", [SwingShape(reach=0.6), SwingShape(flat=True), SwingShape(pause_s=0.3), SwingShape()])
def test_shapes_of_a_swing(shape):
    from sensors.virtual.between import step_up
    from sensors.virtual.swing import swing

    rng = np.random.default_rng(4)
    timeline = beginning()
    step_up(timeline, rng)
    start_s = timeline.now_s
    top_s, impact_s = swing(timeline, shape)
    assert top_s - start_s == pytest.approx(shape.reach * shape.backswing_s + shape.pause_s)
    assert impact_s - top_s == pytest.approx(shape.downswing_s)
    scene = Scene(timeline, rng, wander=0.0)
    back = (scene.t_s > start_s) & (scene.t_s < impact_s)
    highest = np.degrees(scene.arm_elevation[back].max())
    assert (highest > 0) == (shape.reach == 1.0)
    near = segments(scene.curves, np.array([start_s, impact_s]), Build(), Side.LEFT).shaft()
    assert np.degrees(np.arccos(near[0] @ near[1])) < 15.0


def test_a_blow_shakes_both_sensors_for_some_hundredths_of_a_second():
    t_s = np.arange(0.0, 1.0, 0.005)
    for role, least in ((Role.FOREARM, 10.0), (Role.CLUB, 30.0)):
        rate, force = shaking(t_s, [0.501], role, np.random.default_rng(5))
        assert np.abs(force).max() > least
        assert np.abs(rate).max() > 0.01
        quiet = (t_s < 0.5) | (t_s > 0.6)
        assert not force[quiet].any()
        assert not rate[quiet].any()
