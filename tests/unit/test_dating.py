"""Dates against curves whose crossings, tops and onsets are known in closed form."""

import numpy as np
import pytest

from fusion.swing import dating

RATE_HZ = 200.0


def samples(start_s, end_s, phase=0.37):
    return np.arange(start_s, end_s, 1 / RATE_HZ) + phase / RATE_HZ


def test_crossing_of_a_sine_is_its_zero():
    t_s = samples(-0.2, 0.2)
    assert dating.crossing(t_s, 2.0 * np.sin(8.0 * (t_s - 0.0123)), 0.01) == pytest.approx(0.0123, abs=2e-5)


def test_no_crossing_no_date():
    t_s = samples(-0.2, 0.2)
    assert dating.crossing(t_s, np.full_like(t_s, 1.0), 0.01) == 0.01
    assert dating.crossing(t_s, -1.0 - t_s, 0.01) == 0.01


@pytest.mark.parametrize(("back", "within_s"), [(1200.0, 0.0001), (400.0, 0.003), (100.0, 0.006)])
def test_turning_point_between_samples(back, within_s):
    # Rises more slowly than it falls, as an arm does; both halves have their vertex at 2 ms. A slope over 20 ms leans to the
    # side that bends more.
    t_s = samples(-0.2, 0.03)
    since = t_s - 0.002
    arm = np.radians(np.where(since < 0, -back * since**2, -1200.0 * since**2))
    assert dating.turned_back(t_s, arm) == pytest.approx(0.002, abs=within_s)


def test_after_a_trembling_wait_the_end_of_the_wait():
    t_s = samples(-0.6, 0.04)
    wait = 0.05 * np.sin(2 * np.pi * 5.0 * t_s) * (t_s < 0) - 2.0 * (t_s + 0.6)
    arm = np.radians(wait - 1200.0 * np.clip(t_s, 0, None) ** 2)
    assert dating.turned_back(t_s, arm) == pytest.approx(0.0, abs=0.008)


def test_what_never_fell_turned_back_at_its_end_and_what_only_fell_at_its_start():
    t_s = samples(0.0, 0.2)
    assert dating.turned_back(t_s, t_s) == t_s[-1]
    assert dating.turned_back(t_s, -t_s) == t_s[0]


def test_vertex_of_a_quartic_is_exact_and_trembling_averages_out():
    t_s = samples(-0.2, 0.2)
    arm = np.radians(40.0 - 600.0 * (t_s - 0.004) ** 2 - 1500.0 * (t_s - 0.004) ** 3)
    assert dating.vertex(t_s, arm, 0.0) == pytest.approx(0.004, abs=1e-6)
    off = []
    for turn in np.linspace(0, 2 * np.pi, 24, endpoint=False):
        shaken = arm + np.radians(0.05) * np.sin(2 * np.pi * 12.0 * t_s + turn)
        off.append([dating.vertex(t_s, shaken, 0.0) - 0.004, t_s[np.argmax(shaken)] - 0.004])
    wide, plain = np.sqrt((np.array(off) ** 2).mean(axis=0))
    assert wide < 0.5 * plain


def test_vertex_of_a_top_too_sharp_for_a_wide_fit():
    t_s = samples(-0.2, 0.2)
    arm = np.radians(-60.0 * np.abs(t_s - 0.003) - 200.0 * (t_s - 0.003) ** 2)
    assert dating.vertex(t_s, arm, 0.0) == pytest.approx(0.003, abs=0.003)


@pytest.mark.parametrize("least_deg", [0.5, 4.0, 10.0])
def test_nearest_of_a_passing_direction(least_deg):
    # Passing at 1000 deg/s with a least angle: the hyperbola sqrt(d^2 + v^2 t^2).
    t_s = samples(-0.1, 0.1)
    off = np.radians(np.hypot(least_deg, 1000.0 * (t_s - 0.0017)))
    at = float(t_s[np.argmin(off)])
    assert dating.nearest(t_s, off, at) == pytest.approx(0.0017, abs=1e-4)


@pytest.mark.parametrize("rest_deg", [0.0, 3.0])
def test_onset_of_a_constant_acceleration(rest_deg):
    t_s = samples(-0.5, 0.3)
    turn = np.radians(rest_deg + 0.5 * 600.0 * np.clip(t_s - 0.02, 0, None) ** 2)
    assert dating.onset(t_s, turn) == pytest.approx(0.02, abs=0.005)


def test_values_between_samples_and_holes():
    t_s = samples(-0.1, 0.1)
    values = np.stack([t_s**2, np.sin(5 * t_s), np.full_like(t_s, np.nan)], axis=1)
    out = dating.values_at(t_s, values, 0.0101)
    assert out[:2] == pytest.approx([0.0101**2, np.sin(5 * 0.0101)], abs=1e-4)
    assert np.isnan(out[2])


def test_sparse_samples_still_give_a_fit():
    t_s = np.array([0.0, 0.05, 0.1])
    assert dating.values_at(t_s, (t_s**2)[:, None], 0.07)[0] == pytest.approx(0.0049)
