"""An independent look at orientation: the `ahrs` package's filters on the same samples, and TRIAD for the start.

Not a contest: the strapdown must agree with filters that share no code with it, over one swing from a common start.
"""

import ahrs
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from fusion.orientation.idle import IdleTilt
from fusion.orientation.strapdown import Strapdown
from sensors.ids import Side
from sensors.virtual.golfer import segments
from tests.virtual import virtual_session

RATE_HZ = 200.0


@pytest.fixture(scope="module", params=["forearm_sensor", "club_sensor"])
def motion(request):
    session = virtual_session(5, 2)
    mark = session.practice.swings[0]
    t_s = np.arange(mark.start_s - 0.2, mark.impact_s, 1 / RATE_HZ)
    return t_s, getattr(segments(session.practice.curves, t_s, session.build, Side.LEFT), request.param)


def off_deg(q_wxyz, R_true):
    return np.degrees((Rotation.from_matrix(R_true).inv() * Rotation.from_quat(q_wxyz, scalar_first=True)).magnitude())


def strapdown_of(t_s, m):
    strapdown = Strapdown()
    strapdown.q_free_from_sensor = tuple(Rotation.from_matrix(m.R[0]).as_quat(scalar_first=True))
    for t, rate in zip(t_s, m.body_rate_rad_s(), strict=True):
        q = strapdown.push(float(t), tuple(rate), 1 / RATE_HZ)
    return q


def test_strapdown_reaches_impact_within_a_third_of_a_degree(motion):
    t_s, m = motion
    assert off_deg(strapdown_of(t_s, m), m.R[-1]) < 0.33


def test_agrees_with_the_closed_form_integration_of_ahrs(motion):
    t_s, m = motion
    start = Rotation.from_matrix(m.R[0]).as_quat(scalar_first=True)
    independent = ahrs.filters.AngularRate(gyr=m.body_rate_rad_s(), q0=start, frequency=RATE_HZ, method="closed").Q
    # ahrs takes each sample's rate for the whole step, half a sample of lag: up to a few degrees at 1300 deg/s.
    apart = np.degrees(
        (
            Rotation.from_quat(independent[-1], scalar_first=True).inv()
            * Rotation.from_quat(strapdown_of(t_s, m), scalar_first=True)
        ).magnitude()
    )
    assert apart < 4.0
    assert off_deg(strapdown_of(t_s, m), m.R[-1]) < off_deg(independent[-1], m.R[-1])


def test_the_idle_filter_and_ahrs_find_the_same_vertical_at_rest():
    session = virtual_session(5, 2)
    t_s = np.arange(session.practice.moves[1][0], session.practice.moves[1][0] + 2.0, 1 / RATE_HZ)
    m = segments(session.practice.curves, t_s, session.build, Side.LEFT).club_sensor
    gyr, acc = m.body_rate_rad_s(), m.specific_force_m_s2()
    idle = IdleTilt(RATE_HZ)
    idle.push(t_s, gyr, acc)
    ours = Rotation.from_quat(idle.q_earth_from_sensor, scalar_first=True).inv().apply([0, 0, 1])
    tilt = ahrs.filters.Tilt(acc=acc).Q  # every sample by itself: a swaying body tilts them, their mean is sound
    theirs = Rotation.from_quat(tilt, scalar_first=True).inv().apply([0, 0, 1]).mean(axis=0)
    true = m.R[:, 2, :]  # the vertical in sensor axes
    mean = true.mean(axis=0)
    assert np.degrees(np.arccos(ours @ true[-1])) < 1.0
    assert np.degrees(np.arccos(theirs @ mean / np.linalg.norm(theirs) / np.linalg.norm(mean))) < 1.0


def test_filters_that_lean_on_the_accelerometer_are_pulled_off_by_the_swing(motion):
    """Why the accelerometer plays no part inside a swing: Madgwick and Mahony, at the settings published as best for
    general motion (BROAD: beta 0.12; Kp 0.74, Ki 0.0012), end further from the vertical than plain integration."""
    t_s, m = motion
    q0 = Rotation.from_matrix(m.R[0]).as_quat(scalar_first=True)
    gyr, acc = m.body_rate_rad_s(), m.specific_force_m_s2()

    def inclination_deg(q):
        up = Rotation.from_quat(q, scalar_first=True).apply(m.R[-1].T @ [0, 0, 1])
        return np.degrees(np.arccos(np.clip(up[2], -1, 1)))

    ours = inclination_deg(strapdown_of(t_s, m))
    for filtered in (
        ahrs.filters.Madgwick(gyr=gyr, acc=acc, q0=q0, frequency=RATE_HZ, gain_imu=0.12).Q[-1],
        ahrs.filters.Mahony(gyr=gyr, acc=acc, q0=q0, frequency=RATE_HZ, k_P=0.74, k_I=0.0012).Q[-1],
    ):
        assert inclination_deg(filtered) > ours
