"""Up at address, from a sensor that hangs on an arm which waggles, trembles and comes to rest: known by construction."""

import math

import numpy as np
import pytest
from scipy.constants import g
from scipy.spatial.transform import Rotation

from fusion.orientation.rest import STANDARD_GRAVITY_M_S2, rest_of
from fusion.orientation.vertical import REACH_S, vertical_of
from fusion.orientation.window import Window

RATE_HZ = 200.0
ARM_M = 0.6
UP_DEG = 1e-3


def pendulum(angle_rad, t_s):
    """A sensor at the end of an arm that turns about a level axis: kinematics of a circle, differentiated numerically."""
    spacing_s = t_s[1] - t_s[0]
    rate, turning = np.gradient(angle_rad, spacing_s), np.gradient(np.gradient(angle_rad, spacing_s), spacing_s)
    q = Rotation.from_rotvec(np.outer(angle_rad, [1.0, 0.0, 0.0]))
    force = np.stack([np.zeros_like(t_s), ARM_M * turning, ARM_M * rate**2], axis=1)
    force += q.inv().apply([0.0, 0.0, STANDARD_GRAVITY_M_S2])
    start = q[0].inv() * q
    return Window(
        t_s=t_s, device_s=t_s, gyr_rad_s=np.outer(rate, [1.0, 0.0, 0.0]), acc_m_s2=force,
        q_free_from_sensor=start.as_quat(scalar_first=True), turn_rad=np.zeros((len(t_s), 3)),
    ), q[0].inv().apply([0.0, 0.0, 1.0])  # fmt: skip


def off_deg(up, true):
    return math.degrees(float(np.linalg.norm(np.cross(up, true))))


def waggle(t_s, still_s):
    """A waggle of 10 deg that dies out `still_s` before the end, and a tremor of a tenth of a degree."""
    left_s = t_s[-1] - t_s
    fade = 1.0 / (1.0 + np.exp(-(left_s - still_s - 0.1) / 0.03))
    return np.radians(10.0) * fade * np.sin(2 * np.pi * 1.2 * t_s) + np.radians(0.02) * np.sin(2 * np.pi * 7.0 * t_s)


def test_gravity_is_the_standard_one():
    assert g == STANDARD_GRAVITY_M_S2


@pytest.mark.parametrize("still_s", [0.3, 0.4, 0.6])
def test_a_waggle_before_the_rest_does_no_harm(still_s):
    t_s = np.arange(0.0, REACH_S, 1 / RATE_HZ)
    window, up = pendulum(waggle(t_s, still_s), t_s)
    found = vertical_of(window, np.zeros(3), 0.0)
    assert off_deg(found.up_free, up) < (0.25 if still_s > 0.5 else 0.5)
    plain = rest_of(window.part(t_s[-1] - 0.45, t_s[-1]))
    if still_s < 0.6:
        assert off_deg(found.up_free, up) < 0.5 * off_deg(plain.up_free, up)


def test_what_it_says_of_itself_grows_with_the_motion_and_with_the_bias():
    t_s = np.arange(0.0, REACH_S, 1 / RATE_HZ)
    calm, lively = (pendulum(waggle(t_s, still_s), t_s)[0] for still_s in (1.2, 0.1))
    sd = vertical_of(calm, np.zeros(3), 0.0).sd_rad
    assert vertical_of(lively, np.zeros(3), 0.0).sd_rad > 2 * sd
    assert vertical_of(calm, np.zeros(3), math.radians(1.0)).sd_rad > sd


def test_a_short_window_will_do():
    t_s = np.arange(0.0, 0.1, 1 / RATE_HZ)
    window, up = pendulum(np.full_like(t_s, 0.3), t_s)
    assert off_deg(vertical_of(window, np.zeros(3), 0.0).up_free, up) < UP_DEG
