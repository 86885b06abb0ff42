import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from fusion.orientation.bias import BODY_REST_RAD_S, TABLE_REST_RAD_S, BiasFilter
from fusion.orientation.strapdown import Strapdown
from fusion.rotation import angle, inverse, mul


def coning(t, half_angle, rate):
    """Classical coning motion: the body axis draws a cone; exact attitude and body rate (Savage 1998; from memory)."""
    c, s = math.cos(half_angle / 2), math.sin(half_angle / 2)
    q = (c, s * math.cos(rate * t), s * math.sin(rate * t), 0.0)
    k = 2 * math.sin(half_angle / 2) ** 2 * rate
    w = (-math.sin(half_angle) * math.sin(rate * t) * rate, math.sin(half_angle) * math.cos(rate * t) * rate, -k)
    return q, w


def test_follows_coning_motion_and_the_cross_term_halves_the_error():
    half, rate, dt = math.radians(10), 2 * math.pi * 3, 0.005
    strapdown = Strapdown()
    q0, w0 = coning(0.0, half, rate)
    strapdown.q_free_from_sensor = q0
    strapdown.push(0.0, w0, dt)
    plain = Rotation.from_quat(q0, scalar_first=True)
    previous = np.array(w0)
    for i in range(1, 401):
        q_true, w = coning(i * dt, half, rate)
        strapdown.push(i * dt, w, dt)
        plain = plain * Rotation.from_rotvec((previous + w) / 2 * dt)
        previous = np.array(w)
    error = math.degrees(angle(mul(inverse(q_true), strapdown.q_free_from_sensor)))
    plain_error = math.degrees((Rotation.from_quat(q_true, scalar_first=True).inv() * plain).magnitude())
    assert error < 0.06
    assert plain_error > 1.9 * error


def test_uses_time_stamps_not_a_nominal_rate():
    even, holed = Strapdown(), Strapdown()
    for i in range(101):
        even.push(i * 0.005, (0.0, 1.5, 0.0), 0.005)
        if not 40 <= i < 50:
            holed.push(i * 0.005, (0.0, 1.5, 0.0), 0.005)
    assert angle(mul(inverse(even.q_free_from_sensor), holed.q_free_from_sensor)) == pytest.approx(0.0, abs=1e-9)
    assert not holed.n_breaks


@pytest.mark.parametrize(
    ("hole_s", "change_rad_s", "broken"), [(0.055, 1.0, False), (0.055, 8.0, True), (0.2, 0.0, True)]
)
def test_knows_which_holes_it_cannot_bridge(hole_s, change_rad_s, broken):
    strapdown = Strapdown()
    strapdown.push(0.0, (0.0, 0.0, 0.0), 0.005)
    strapdown.push(hole_s, (change_rad_s, 0.0, 0.0), 0.005)
    assert bool(strapdown.n_breaks) is broken


def test_table_rest_settles_the_bias_and_body_rest_only_nudges_it():
    bias, true = BiasFilter(), np.radians([0.7, -0.4, 0.2])
    bias.rest(1.0, true, TABLE_REST_RAD_S)
    assert bias.bias_rad_s == pytest.approx(true, abs=np.radians(0.001))
    sway = np.radians([0.5, 0.0, 0.0])
    bias.rest(10.0, true + sway, BODY_REST_RAD_S)
    moved = np.degrees(bias.bias_rad_s - true)
    assert 0.0 < moved[0] < 0.01
