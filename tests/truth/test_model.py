"""The swing model itself, against differentiation by numbers and published timing."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from sensors.ids import Side
from sensors.virtual.chain import GRAVITY_M_S2
from sensors.virtual.golfer import segments
from tests.virtual import virtual_run, virtual_session


@pytest.fixture(scope="module", params=list(Side))
def motion(request):
    session = virtual_session(4, 3, request.param)
    mark = session.practice.swings[1]
    dt = 1e-4
    t_s = np.arange(mark.start_s, mark.impact_s + 0.1, dt)
    return dt, segments(session.practice.curves, t_s, session.build, request.param)


@pytest.mark.parametrize("segment", ["forearm_sensor", "club_sensor"])
def test_rates_and_forces_are_the_derivatives_of_the_pose(motion, segment):
    dt, body = motion
    m = getattr(body, segment)
    # Independent of the recursion: relative rotation between neighbours (scipy), second difference of position.
    turn = (Rotation.from_matrix(m.R[:-2]).inv() * Rotation.from_matrix(m.R[2:])).as_rotvec() / (2 * dt)
    assert np.abs(turn - m.body_rate_rad_s()[1:-1]).max() < np.radians(0.05)
    acceleration = (m.p_m[2:] - 2 * m.p_m[1:-1] + m.p_m[:-2]) / dt**2
    force = np.einsum("nji,nj->ni", m.R[1:-1], acceleration + np.array([0, 0, GRAVITY_M_S2]))
    assert np.abs(force - m.specific_force_m_s2()[1:-1]).max() < 0.02


def test_frames_stay_right_handed(motion):
    _, body = motion
    for m in (body.forearm, body.hand, body.club):
        assert np.allclose(np.linalg.det(m.R), 1.0)


def test_a_left_handed_player_is_the_mirror_image_and_has_the_same_angles():
    left, right = (virtual_session(4, 3, side).truths() for side in Side)
    for a, b in zip(left, right, strict=True):
        for name in a.angles:
            assert np.allclose(a.angles[name], b.angles[name], atol=1e-9, equal_nan=True), name


def test_timing_lies_within_what_1400_annotated_swings_show():
    # GolfDB (McNally et al. 2019, CVPRW), 5th to 95th percentile: shaft level at 0.42-0.63 and lead arm level at
    # 0.59-0.79 of the backswing; backswing : downswing 2.56-5.29.
    for truth, mark in zip(virtual_run(4, 6).truths, virtual_run(4, 6).session.practice.swings, strict=True):
        backswing = truth.top_s - mark.start_s
        assert 0.42 < (truth.shaft_level_s - mark.start_s) / backswing < 0.63
        assert 0.59 < (truth.arm_level_s - mark.start_s) / backswing < 0.79
        assert 2.56 < backswing / (truth.impact_s - truth.top_s) < 5.29


def test_cupping_steepens():
    # Common practice, no source. The face is left to tests/unit/test_what_if.py: here the forearm's roll changes with the fault.
    truths = sorted(
        virtual_run(4, 6).truths, key=lambda t: np.interp(t.arm_level_s, t.t_s, t.angles["bend_change_deg"])
    )
    pitch = [np.interp(t.arm_level_s, t.t_s, t.angles["shaft_pitch_deg"]) for t in truths]
    assert all(a > b for a, b in pairwise(pitch))
