"""Which sensor moves: levels from known rates, and the one that stands out."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sensors.activity import AHEAD, MOVING_RAD_S, STILL_MOVING_RAD_S, ActivityMeter, mover
from sensors.readings import ImuBlock

A, B, C = "A", "B", "C"
NS = 1_000_000_000


def block(start_s, gyr_rad_s, rate_hz=200.0):
    gyr = np.asarray(gyr_rad_s, float)
    device_s = start_s + np.arange(len(gyr)) / rate_hz
    return ImuBlock(
        arrival_ns=round(device_s[-1] * NS), sensor=A, t_s=device_s, device_s=device_s, gyr_sensor_rad_s=gyr,
        acc_sensor_m_s2=np.zeros_like(gyr), saturated=False,
    )  # fmt: skip


def fed(meter, start_s, seconds, rate):
    for i in range(round(seconds * 20)):
        at_s = start_s + i * 0.05 + np.arange(10) / 200.0
        meter.push(block(start_s + i * 0.05, [rate(t) for t in at_s]))
    return round((start_s + seconds) * NS)


def test_the_level_of_a_steady_turn_is_its_rate_about_any_axis():
    meter = ActivityMeter()
    now_ns = fed(meter, 5.0, 1.0, lambda _: (1.0, -2.0, 2.0))
    assert meter.level_rad_s(now_ns) == pytest.approx(3.0)


def test_the_level_of_a_shake_is_its_root_mean_square():
    meter = ActivityMeter()
    now_ns = fed(
        meter, 0.0, 2.0, lambda t: (0.0, 4.0 * math.sin(2 * math.pi * 2.0 * t), 0.0)
    )  # one turn of 2 Hz a window
    assert meter.level_rad_s(now_ns) == pytest.approx(4.0 / math.sqrt(2), rel=0.02)


def test_it_forgets_within_half_a_second_and_falls_silent_with_the_sensor():
    meter = ActivityMeter()
    fed(meter, 0.0, 1.0, lambda _: (5.0, 0.0, 0.0))
    now_ns = fed(meter, 1.0, 0.55, lambda _: (0.0, 0.0, 0.0))
    assert meter.level_rad_s(now_ns) == 0.0
    now_ns = fed(meter, 1.55, 0.5, lambda _: (5.0, 0.0, 0.0))
    assert meter.level_rad_s(now_ns + NS // 2) == pytest.approx(5.0)
    assert meter.level_rad_s(now_ns + NS) == 0.0
    assert ActivityMeter().level_rad_s(0) == 0.0


def test_a_device_that_began_anew_is_measured_from_there():
    meter = ActivityMeter()
    fed(meter, 100.0, 1.0, lambda _: (5.0, 0.0, 0.0))
    now_ns = fed(meter, 0.0, 0.1, lambda _: (1.0, 0.0, 0.0))
    assert meter.level_rad_s(now_ns) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("levels", "before", "moves"),
    [
        ({}, None, None),
        ({A: MOVING_RAD_S - 0.01, B: 0.0}, None, None),
        ({A: MOVING_RAD_S, B: 0.0}, None, A),
        ({A: MOVING_RAD_S}, None, A),
        ({A: 2.0, B: 2.0 / AHEAD - 0.01, C: 0.1}, None, A),
        ({A: 2.0, B: 2.0 / AHEAD + 0.01, C: 0.1}, None, None),  # two are being carried
        ({A: STILL_MOVING_RAD_S + 0.01, B: 0.0}, A, A),
        ({A: STILL_MOVING_RAD_S + 0.01, B: 0.0}, B, None),
        ({A: 0.0, B: 3.0}, A, B),
    ],
)
def test_the_one_that_moves_stands_out(levels, before, moves):
    assert mover(levels, before) == moves
