"""Derivatives and the shortened turn against numbers made another way."""

import itertools

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from fusion.calibration.trim.faults import N_FAULTS, PRIOR_SD, Faults
from fusion.calibration.trim.hold import best_hold
from fusion.calibration.trim.model import Joint, Problem
from fusion.calibration.trim.turn import rotation_vector, turn_of
from fusion.rotation import exp
from tests.turned_sensor import G_M_S2, RATE_HZ, Sensor, hand_ups, session


@pytest.fixture(scope="module")
def practice():
    rng = np.random.default_rng(3)
    return session(rng, Sensor.draw(rng), hand_ups(rng, 4), in_hand=True)


@pytest.fixture(scope="module")
def problem(practice):
    t, gyr, acc = practice.t_s, practice.gyr, practice.acc
    holds = [best_hold(t[a:b], gyr[a:b], acc[a:b], 0.5) for a, b in practice.windows]
    middles = np.searchsorted(t, [hold.middle_s for hold in holds])
    joints = [
        Joint(last=k, next=k + 1, turn=turn_of(t[a : b + 1], gyr[a : b + 1], 1 / RATE_HZ))
        for k, (a, b) in enumerate(itertools.pairwise(middles))
    ]
    return Problem(holds, joints, G_M_S2, 1.0)


def test_derivatives_are_those_of_the_residuals(problem):
    """Central differences. Within a step the turn is taken about its middle, hence the half percent."""
    x = np.random.default_rng(0).normal(0.0, 0.5, problem.n_unknowns)
    x[N_FAULTS:] *= 0.01
    step = 1e-5
    numeric = np.stack(
        [(problem.residuals(x + step * e) - problem.residuals(x - step * e)) / (2 * step) for e in np.eye(len(x))],
        axis=1,
    )
    assert np.abs(problem.jacobian(x) - numeric).max() < 0.005 * np.abs(numeric).max()
    assert np.linalg.norm(problem.jacobian(x) - numeric) < 1e-3 * np.linalg.norm(numeric)


def test_a_shortened_turn_is_the_turn_of_the_corrected_samples(practice):
    """Scipy's product of small rotations of the corrected samples, midpoint rates, five times finer than the steps kept."""
    t, raw = practice.t_s[700:1700], practice.gyr[700:1700]
    faults = Faults.of(np.random.default_rng(1).normal(0.0, 1.0, N_FAULTS))
    rate = (raw - faults.gyr_offset_rad_s) @ faults.gyr_matrix.T
    whole = Rotation.identity()
    for a, b, dt in zip(rate[:-1], rate[1:], np.diff(t), strict=True):
        whole = whole * Rotation.from_rotvec((a + b) / 2 * dt + np.cross(a, b) * dt**2 / 12)
    kept = faults.turned(turn_of(t, raw, 1 / RATE_HZ))[0]
    assert (Rotation.from_matrix(kept).inv() * whole).magnitude() < 1e-4


def test_priors_are_in_the_faults_order():
    faults = Faults.of(np.arange(N_FAULTS) / PRIOR_SD)
    assert faults.gyr_offset_rad_s == pytest.approx([0, 1, 2])
    assert faults.gyr_matrix - np.eye(3) == pytest.approx(np.arange(3, 12).reshape(3, 3))
    assert faults.acc_offset_m_s2 == pytest.approx([12, 13, 14])
    assert faults.acc_inverse - np.eye(3) == pytest.approx(np.array([[15, 18, 19], [18, 16, 20], [19, 20, 17]]))


@pytest.mark.parametrize("vector", [(0.0, 0.0, 0.0), (0.3, -0.2, 0.1), (0.0, 3.1, 0.0), (-1e-8, 0.0, 0.0)])
def test_rotation_vector_undoes_exp(vector):
    assert rotation_vector(exp(vector)) == pytest.approx(vector, abs=1e-12)


def test_the_quiet_middle_of_a_window_is_taken():
    """Two seconds still between half seconds of turning at 40 deg/s."""
    t = np.arange(600) / RATE_HZ
    turning = (t < 0.5) | (t >= 2.5)
    gyr = np.where(turning[:, None], np.radians([40.0, 0, 0]), 0.01)
    acc = np.where(turning[:, None], [3.0, 0, 9.0], [0.0, 0, 9.8])
    hold = best_hold(t, gyr, acc, 0.5)
    assert hold.length_s == pytest.approx(2.0)
    assert hold.force_m_s2 == pytest.approx([0, 0, 9.8])
    assert hold.rate_rad_s == pytest.approx([0.01] * 3)


def test_a_slow_turn_is_followed():
    """Gravity as seen in the middle of a hold that turns at 5 deg/s, not its smeared mean."""
    t = np.arange(401) / RATE_HZ
    angle = np.radians(5.0) * (t - 1.0)
    acc = G_M_S2 * np.stack([np.zeros_like(t), np.sin(angle), np.cos(angle)], axis=1)
    gyr = np.tile([np.radians(5.0), 0, 0], (len(t), 1))
    hold = best_hold(t, gyr, acc, 2.0, np.zeros(3))
    assert np.linalg.norm(hold.force_m_s2) == pytest.approx(G_M_S2, abs=1e-3)
    assert hold.force_m_s2[1] == pytest.approx(0, abs=0.01)
