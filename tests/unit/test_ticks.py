"""The grid on which swings are looked at, and what a sensor's track gives at its points."""

import numpy as np
import pytest

from fusion.orientation.track import BIAS_IN_FORCE_AFTER_S, HISTORY_S, SensorTrack
from fusion.ticks import TICK_S, by_tick, tick_of
from sensors.ids import SensorId
from sensors.readings import ImuBlock

RATE_HZ = 200.0
Q = (1.0, 0.0, 0.0, 0.0)


def pairs(times_s):
    return [(t_s, Q, Q, 9.8, 9.8) for t_s in times_s]


def block(first, n, rate_rad_s=0.0):
    t_s = (first + np.arange(n)) / RATE_HZ
    return ImuBlock(
        arrival_ns=round(t_s[-1] * 1e9), sensor=SensorId("aa"), t_s=t_s, device_s=t_s,
        gyr_sensor_rad_s=np.full((n, 3), rate_rad_s), acc_sensor_m_s2=np.tile([0.0, 0.0, 9.8], (n, 1)), saturated=False,
    )  # fmt: skip


def test_instants_are_cut_where_a_tick_begins_and_nowhere_else():
    times = [k / RATE_HZ for k in range(25)]
    parts = list(by_tick(pairs(times)))
    assert [t_s for _, part in parts for t_s, *_ in part] == times
    assert all({tick_of(pair[0]) for pair in part} == {tick} for tick, part in parts)
    assert [tick for tick, _ in parts] == sorted({tick_of(t_s) for t_s in times})


def test_rounding_moves_no_sample_at_a_round_time_across():
    for k in range(0, 400, 10):
        t_s = k * TICK_S
        assert tick_of(t_s - 1e-7) == tick_of(t_s + 1e-7)


def test_a_window_is_the_same_however_the_samples_came():
    one, many = SensorTrack(RATE_HZ), SensorTrack(RATE_HZ)
    one.push(block(0, 19)), one.push(block(19, 19)), one.push(block(38, 19))
    for k in range(57):
        many.push(block(k, 1))
    a, b = one.window(0.05, 0.2), many.window(0.05, 0.2)
    assert a is not None
    assert b is not None
    assert np.array_equal(a.t_s, b.t_s)
    assert np.array_equal(a.q_free_from_sensor, b.q_free_from_sensor)


def test_a_hole_ends_what_is_recent():
    track = SensorTrack(RATE_HZ)
    track.push(block(0, 20))
    track.push(block(60, 20))
    assert track.window(0.05, 0.39) is None
    recent = track.recent(HISTORY_S, 0.39)
    assert recent is not None
    assert recent.t_s[0] == pytest.approx(0.3)


def test_a_bias_counts_from_an_instant_and_not_from_a_packet():
    ends = []
    for cut in (1, 10):
        track = SensorTrack(RATE_HZ)
        for k in range(0, 200, cut):
            if k == 50:
                track.learn(50 / RATE_HZ, np.full(3, 0.01), 1e-6)
            samples = track.push(block(k, cut, rate_rad_s=0.01))
        ends.append(samples[-1][1])
    assert ends[0] == pytest.approx(ends[1], abs=1e-12)
    turned_s = 50 / RATE_HZ + BIAS_IN_FORCE_AFTER_S  # until then the rate counts in full, later not at all
    assert np.linalg.norm(ends[0][1:]) == pytest.approx(0.5 * np.sqrt(3) * 0.01 * turned_s, rel=0.02)
