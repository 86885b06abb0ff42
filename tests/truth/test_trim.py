"""How far a calibration by attitudes is from a simulated sensor's true faults, over sixty sensors drawn at random.

The simulator (`tests/turned_sensor.py`) shares no code with the project. The accelerometer's part is compared with the
ellipsoid fit, the textbook method for this (algebraic least squares, here in numpy).
"""

import numpy as np
import pytest
from scipy.linalg import sqrtm

from fusion.calibration.trim.collector import TrimCollector
from sensors.trim import UNTRIMMED
from tests.turned_sensor import G_M_S2, Sensor, hand_ups, session, table_ups

SEEDS = range(60)
WAYS = {
    "table of 6": (table_ups, 6),
    "table of 12": (table_ups, 12),
    "hand of 8": (hand_ups, 8),
    "hand of 12": (hand_ups, 12),
    "hand of 4": (hand_ups, 4),
}


def rms(values):
    return float(np.sqrt(np.mean(np.square(values))))


@pytest.fixture(scope="module", params=WAYS)
def many(request):
    make_ups, n = WAYS[request.param]
    trials = []
    for seed in SEEDS:
        rng = np.random.default_rng(seed)
        sensor = Sensor.draw(rng)
        practice = session(rng, sensor, make_ups(rng, n), in_hand=make_ups is hand_ups)
        collector = TrimCollector()
        assert practice.feed(collector) == [None] * (n + 1), "every window is usable"
        trials.append((sensor, practice, collector.solve()))
    return request.param, trials


LIMITS = {  # gyroscope scale %, accelerometer offset m/s2; root mean square over sensors and axes
    "table of 6": (0.25, 0.006),
    "table of 12": (0.04, 0.003),
    "hand of 8": (0.25, 0.016),
    "hand of 12": (0.17, 0.013),
    "hand of 4": (0.65, 0.045),
}


def test_faults_are_found(many):
    way, trials = many
    assert all(result.complete is (way != "hand of 4") for _, _, result in trials)
    errors = [sensor.errors(result.trim) for sensor, _, result in trials]
    before = [sensor.errors(UNTRIMMED) for sensor, _, _ in trials]
    scale = 100 * rms([np.diag(gyr) for gyr, _, _ in errors])
    offset = rms([off for _, _, off in errors])
    print(
        f"{way}: gyr scale % {100 * rms([np.diag(gyr) for gyr, _, _ in before]):.2f} -> {scale:.3f}, "
        f"gyr cross % {100 * rms([gyr[~np.eye(3, dtype=bool)] for gyr, _, _ in before]):.2f} -> "
        f"{100 * rms([gyr[~np.eye(3, dtype=bool)] for gyr, _, _ in errors]):.3f}, "
        f"acc offset {rms([off for _, _, off in before]):.3f} -> {offset:.4f} m/s2, "
        f"acc scale % {100 * rms([np.diag(acc) for _, acc, _ in before]):.2f} -> "
        f"{100 * rms([np.diag(acc) for _, acc, _ in errors]):.3f}"
    )
    assert scale < LIMITS[way][0]
    assert offset < LIMITS[way][1]


def test_stated_uncertainty_covers_the_error(many):
    """A normal error is within 1 sd in 68 % and within 2 sd in 95 %; a stated sd may be too large, but not by much."""
    way, trials = many
    gyr, acc, pooled_gyr, pooled_acc = [], [], [], []
    for sensor, _, result in trials:
        gyr_error, acc_error, offset = sensor.errors(result.trim)
        gyr.extend(np.diag(gyr_error) / result.figures.gyr_scale_sd)
        acc.extend(offset / result.figures.acc_offset_sd_m_s2)
        pooled_gyr.append(rms(np.diag(gyr_error)) / result.trim.gyr_scale_sd)
        at_rest = np.sqrt((offset @ offset + G_M_S2**2 / 3 * (acc_error**2).sum()) / 3)
        pooled_acc.append(at_rest / result.trim.acc_sd_m_s2)
    for name, z in (("gyr scale", gyr), ("acc offset", acc)):
        within = [float(np.mean(np.abs(z) < k)) for k in (1, 2)]
        print(f"{way}: {name} within 1 sd {within[0]:.2f}, 2 sd {within[1]:.2f}, error/sd rms {rms(z):.2f}")
        assert within[0] > 0.64
        assert within[1] > 0.93
    print(f"{way}: error over Trim.gyr_scale_sd {rms(pooled_gyr):.2f}, over Trim.acc_sd_m_s2 {rms(pooled_acc):.2f}")
    assert 0.4 < rms(pooled_gyr) < 1.1
    assert 0.5 < rms(pooled_acc) < 1.1


def ellipsoid_fit(raw):
    """Offset and symmetric matrix of the accelerometer from means at rest, shape (n, 3): x' A x + b' x = 1 by least squares."""
    x, y, z = raw.T / G_M_S2
    design = np.stack([x * x, y * y, z * z, 2 * x * y, 2 * x * z, 2 * y * z, 2 * x, 2 * y, 2 * z], axis=1)
    p, *_ = np.linalg.lstsq(design, np.ones(len(x)), rcond=None)
    A = np.array([[p[0], p[3], p[4]], [p[3], p[1], p[5]], [p[4], p[5], p[2]]])
    centre = -np.linalg.solve(A, p[6:])
    A = A / (1 + centre @ A @ centre)
    return np.real(sqrtm(A)), centre * G_M_S2


@pytest.mark.parametrize("many", ["table of 12", "hand of 12"], indirect=True)
def test_accelerometer_agrees_with_the_ellipsoid_fit(many):
    """Nine unknowns: the fit needs more attitudes than six or eight. On a table of twelve both must find the same."""
    way, trials = many
    apart, ours, theirs = [], [], []
    for sensor, practice, result in trials:
        windows = [practice.still, *practice.windows]
        quiet = [practice.acc[first + 100 : last - 100].mean(axis=0) for first, last in windows]
        matrix, centre = ellipsoid_fit(np.array(quiet))
        apart.append(
            np.concatenate([centre - result.trim.acc_offset_m_s2, G_M_S2 * (matrix - result.trim.acc_matrix).ravel()])
        )
        ours.append(np.array(result.trim.acc_offset_m_s2) - sensor.acc_offset_m_s2)
        theirs.append(centre - sensor.acc_offset_m_s2)
    print(f"{way}: acc offset error ours {rms(ours):.4f}, ellipsoid {rms(theirs):.4f}, apart {rms(apart):.4f} m/s2")
    assert rms(ours) < 1.05 * rms(theirs)
    if way.startswith("table"):
        assert rms(apart) < 0.01
