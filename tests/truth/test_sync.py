"""The two sensors' clocks put together: the lag of a rigid move, and crystals 100 ppm apart through a whole practice."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from fusion.calibration.skew import skew_of
from fusion.orientation.window import Window
from fusion.pipeline import Pipeline
from sensors.ids import Role
from server.drills import default_drill
from tests.virtual import virtual_session


def window(t_s, rates):
    n = len(t_s)
    return Window(
        t_s=t_s, device_s=t_s, gyr_rad_s=rates, acc_m_s2=np.tile([0.0, 0.0, 9.8], (n, 1)),
        q_free_from_sensor=np.tile([1.0, 0.0, 0.0, 0.0], (n, 1)), turn_rad=np.zeros((n, 3)),
    )  # fmt: skip


def swing_rates(t_s):
    return np.stack([2.0 * np.sin(3 * t_s), 0.8 * np.cos(4.1 * t_s), 0.5 * np.sin(2.2 * t_s + 1)], axis=1)


@pytest.mark.parametrize("skew_s", [-0.021, 0.0, 0.0073, 0.04])
def test_the_lag_of_one_body_is_found(skew_s):
    rng = np.random.default_rng(1)
    mount = Rotation.random(rng=rng)
    t_f, t_c = np.arange(0, 5, 1 / 200.0), np.arange(0.0013, 5, 1 / 198.6)
    noise = np.radians(0.1)
    forearm = swing_rates(t_f) + rng.normal(0, noise, (len(t_f), 3)) + 0.01
    club = mount.apply(swing_rates(t_c - skew_s)) + rng.normal(0, noise, (len(t_c), 3)) - 0.02
    skew = skew_of(window(t_f, forearm), window(t_c, club))
    assert skew is not None
    assert skew.late_s == pytest.approx(skew_s, abs=4e-4)
    assert skew.sd_s < 4e-4


def test_a_wrist_that_gives_is_believed_less():
    """Half a degree to and fro in both of the wrist's axes, as slowly as the arm swings: how surely is said about rightly."""
    rng = np.random.default_rng(3)
    t_s = np.arange(0, 5, 1 / 200.0)
    told = []
    for _ in range(20):
        hz, phase = rng.uniform(0.3, 1.2, (3, 3)), rng.uniform(0, 2 * np.pi, (3, 3))
        waves = 2 * np.pi * hz * np.cos(2 * np.pi * hz * t_s[:, None, None] + phase)
        gives = np.radians(0.5 * np.sqrt(2 / 3)) * waves.sum(axis=1) * [1.0, 1.0, 0.0]
        skew = skew_of(window(t_s, swing_rates(t_s)), window(t_s, swing_rates(t_s) + gives))
        assert skew is not None
        told.append((skew.late_s, skew.sd_s))
    late_s, sd_s = np.sqrt(np.mean(np.square(told), axis=0))
    assert sd_s > 0.8e-3
    assert 0.5 < late_s / sd_s < 2.5


def test_a_wrist_that_moves_is_no_clock():
    rng = np.random.default_rng(2)
    t_s = np.arange(0, 5, 1 / 200.0)
    assert skew_of(window(t_s, swing_rates(t_s)), window(t_s, rng.normal(0, 1.5, (len(t_s), 3)))) is None


def test_slow_moves_show_no_lag():
    t_s = np.arange(0, 5, 1 / 200.0)
    assert skew_of(window(t_s, 0.1 * swing_rates(t_s)), window(t_s, 0.1 * swing_rates(t_s))) is None


@pytest.mark.parametrize("seed", [3, 4])
def test_a_pair_100_ppm_apart_agrees_to_a_millisecond_after_a_minute(seed):
    session = virtual_session(seed, 4)
    drift = {Role.FOREARM: 50e-6, Role.CLUB: -50e-6}
    links = {role: replace(link, drift=drift[role]) for role, link in session.links.items()}
    session = replace(session, links=links)
    pipeline = Pipeline(default_drill())
    for event in session.events():
        pipeline.push(event)

    def told_s(role, true_s):
        link = links[role]
        return pipeline._in_step.session_s(role, link.device_start_us * 1e-6 + true_s * (1.0 + link.drift))

    skew_s = pipeline._in_step.skew_s()
    for true_s in (session.practice.duration_s - 20.0, session.practice.duration_s):
        apart_s = told_s(Role.CLUB, true_s) - skew_s - told_s(Role.FOREARM, true_s)
        assert abs(apart_s) < 1e-3
