import math

import numpy as np
import pytest
from scipy.spatial import ConvexHull

from sensors.clock.envelope import EnvelopeClock


def arrivals(drift, offset_s, seconds, rng, *, interval_s=0.03):
    """Device stamps with late arrivals: connection events, retries, a busy host now and then."""
    true_s = np.arange(0.0, seconds, 0.0503)
    late = rng.uniform(0.0, interval_s, len(true_s)) + interval_s * (rng.geometric(0.9, len(true_s)) - 1)
    late += np.where(rng.random(len(true_s)) < 0.01, rng.exponential(0.2, len(true_s)), 0.0)
    return true_s, offset_s + true_s * (1 + drift), true_s + late


@pytest.mark.parametrize("drift", [-100e-6, -20e-6, 0.0, 20e-6, 100e-6])
def test_after_a_minute_two_clocks_agree_within_two_milliseconds(drift):
    rng = np.random.default_rng(3)
    clocks = []
    for d, offset in ((drift, 1234.5), (-drift, 77.0)):
        clock = EnvelopeClock()
        true_s, device_s, arrival_s = arrivals(d, offset, 60.0, rng)
        for device, arrival in zip(device_s, arrival_s, strict=True):
            clock.push(float(device), float(arrival))
        clocks.append(clock.session_s(float(device_s[-1])) - true_s[-1])
    assert abs(clocks[0] - clocks[1]) < 2e-3
    assert all(0 <= c < 4e-3 for c in clocks)  # the least wait stays in: it cannot be seen from one side


def test_the_line_never_lies_above_an_arrival_and_the_drift_is_found():
    clock = EnvelopeClock()
    _, device_s, arrival_s = arrivals(80e-6, 5.0, 150.0, np.random.default_rng(0))
    for device, arrival in zip(device_s, arrival_s, strict=True):
        clock.push(float(device), float(arrival))
        assert clock.session_s(float(device)) <= arrival + 1e-9
    assert clock.drift == pytest.approx(-80e-6, abs=15e-6)


def test_a_late_start_is_corrected_as_soon_as_a_quicker_packet_comes():
    clock = EnvelopeClock()
    clock.push(10.0, 0.5)
    assert clock.session_s(10.0) == pytest.approx(0.5)
    clock.push(10.05, 0.06)
    assert clock.session_s(10.05) == pytest.approx(0.06)


def test_the_hull_that_is_kept_is_the_hull_of_the_last_three_minutes():
    # Against Qhull: the lower edge above the mean device time, of the least delayed packet of each second.
    rng = np.random.default_rng(7)
    _, device_s, arrival_s = arrivals(40e-6, 5.0, 400.0, rng)
    clock, best = EnvelopeClock(), {}
    n_checked = 0
    for i, (device, arrival) in enumerate(zip(device_s.tolist(), arrival_s.tolist(), strict=True)):
        clock.push(device, arrival)
        bucket = int(device)
        best[bucket] = min(best.get(bucket, (device, math.inf)), (device, arrival - device), key=lambda p: p[1])
        if device < 60.0 or i % 37:
            continue
        points = np.array(list(best.values())[-180:])
        corners = points[np.sort(ConvexHull(points).vertices)]
        middle = points[:, 0].mean()
        slope = max(  # of the lower edge above the middle: the highest line at the middle that lies below every corner
            ((b[1] - a[1]) / (b[0] - a[0]) for a in corners for b in corners if a[0] <= middle < b[0]
             and (corners[:, 1] >= a[1] + (b[1] - a[1]) / (b[0] - a[0]) * (corners[:, 0] - a[0]) - 1e-12).all()),
            default=None,
        )  # fmt: skip
        assert clock.drift == pytest.approx(slope, rel=1e-6, abs=1e-12)
        n_checked += 1
    assert n_checked > 150
