"""The running figures: against figures worked out by hand, or by numpy from all values at once; and flat memory."""

from __future__ import annotations

import tracemalloc

import numpy as np
import pytest

from sensors.events import LinkReason, LinkState
from sensors.tally.battery import BatteryTrend
from sensors.tally.drops import KEPT as DROPS_KEPT
from sensors.tally.drops import Drop, Drops
from sensors.tally.lateness import Lateness
from sensors.tally.loss import Loss, RecentLoss
from sensors.tally.stretches import KEPT, Stretch, Stretches

MS = 1_000_000


def test_lateness_is_that_of_all_values_at_once():
    rng = np.random.default_rng(4)
    late_s = rng.gamma(2.0, 0.012, 5000)
    lateness = Lateness()
    for i, value in enumerate(late_s):
        lateness.note(i * 50 * MS, float(value))
    whole, recent = lateness.overall(), lateness.recent(4999 * 50 * MS)
    assert whole is not None
    assert recent is not None
    expected = np.quantile(late_s, [0.5, 0.95, 0.99])
    assert [whole.p50_s, whole.p95_s, whole.p99_s] == pytest.approx(expected, abs=6e-4)
    expected = np.quantile(late_s[-201:], [0.5, 0.95, 0.99])  # ten seconds at twenty a second
    assert [recent.p50_s, recent.p95_s, recent.p99_s] == pytest.approx(expected)
    assert lateness.recent(10**12) is None
    assert Lateness().overall() is None


def test_a_very_late_packet_is_late_and_an_early_one_is_not():
    lateness = Lateness()
    lateness.note(0, 99.0)
    assert lateness.overall().p50_s == pytest.approx(2.0, abs=0.001)
    lateness = Lateness()
    lateness.note(0, -0.01)
    assert lateness.overall().p99_s < 0.001


def test_recent_loss_forgets_after_ten_seconds():
    recent = RecentLoss()
    for i in range(400):
        recent.note(i * 50 * MS, n_samples=10, n_packets=1)
    recent.note(400 * 50 * MS, n_lost=20, n_packets_lost=2)
    now_ns = 400 * 50 * MS
    loss = recent.at(now_ns)
    assert loss.n_lost == 20
    assert loss.n_samples == pytest.approx(2000, abs=100)
    assert loss.share == pytest.approx(20 / (loss.n_samples + 20))
    assert recent.at(now_ns + 11_000 * MS) == Loss()
    assert Loss().share is None


def test_the_worst_stretches_are_kept_and_near_ones_are_one():
    stretches = Stretches()
    stretches.note(0.0, 0.05, 0)  # the usual
    stretches.note(1.0, 1.2, 30)
    stretches.note(2.0, 2.6, 0)  # silence, 0.8 s after the loss
    stretches.note(10.0, 10.5, 0)
    for i in range(20):
        stretches.note(100.0 + 10 * i, 100.1 + 10 * i, 1 + i)
    worst = stretches.worst()
    assert len(worst) == KEPT
    assert worst[0] == Stretch(start_s=1.0, end_s=2.6, n_lost=30, longest_wait_s=pytest.approx(0.6))
    assert [stretch.n_lost for stretch in worst] == [30, 20, 19, 18, 17]


def test_a_silence_without_loss_is_a_stretch_too():
    stretches = Stretches()
    stretches.note(5.0, 9.0, 0)
    assert [(s.start_s, s.end_s, s.n_lost) for s in stretches.worst()] == [(5.0, 9.0, 0)]


def test_battery_trend():
    trend = BatteryTrend()
    trend.note(0.0, 90)
    assert trend.pct_per_hour is None
    for i, pct in enumerate([90, 89, 89, 88, 87, 86]):
        trend.note(600.0 * i, pct)
    # From the first change, 89 at 600 s, to 86 at 3000 s.
    assert trend.pct_per_hour == pytest.approx(-3 / 2400 * 3600)
    assert trend.hours_left == pytest.approx(86 / 4.5)
    trend.note(3600.0, 100)
    assert trend.level_pct == 100
    assert trend.pct_per_hour is None
    trend.note(3660.0, 99)
    assert trend.pct_per_hour is None  # a minute tells nothing


def test_a_battery_that_is_charged_does_not_last_less():
    trend = BatteryTrend()
    for i, pct in enumerate([50, 51, 52]):
        trend.note(1200.0 * i, pct)
    assert trend.pct_per_hour == pytest.approx(3.0)
    assert trend.hours_left is None


def test_drops_have_their_cause_and_their_end():
    drops = Drops()
    drops.note(1.0, LinkState.STREAMING, LinkReason.NONE)
    drops.note(5.0, LinkState.LOST, LinkReason.DROPPED)
    drops.note(6.0, LinkState.CONNECTING, LinkReason.NONE)
    drops.note(7.0, LinkState.LOST, LinkReason.CONNECT_FAILED)  # a try that failed, not another drop
    drops.note(8.5, LinkState.STREAMING, LinkReason.NONE)
    drops.note(20.0, LinkState.LOST, LinkReason.SILENT)
    assert drops.n_drops == 2
    assert drops.newest() == (
        Drop(at_s=5.0, reason=LinkReason.DROPPED, back_s=8.5),
        Drop(at_s=20.0, reason=LinkReason.SILENT, back_s=None),
    )
    for i in range(50):
        drops.note(30.0 + i, LinkState.STREAMING, LinkReason.NONE)
        drops.note(30.5 + i, LinkState.LOST, LinkReason.DROPPED)
    assert (drops.n_drops, len(drops.newest())) == (52, DROPS_KEPT)


def test_memory_does_not_grow_with_time():
    def run(n):
        tallies = Lateness(), RecentLoss(), Stretches(), BatteryTrend(), Drops()
        for i in range(n):
            at_s = 0.05 * i
            tallies[0].note(int(at_s * 1e9), 0.01)
            tallies[1].note(int(at_s * 1e9), n_samples=10, n_lost=i % 2)
            tallies[2].note(at_s, at_s + 0.05, 10 * (i % 100 == 0))
            tallies[3].note(at_s, 100 - i // 50 % 100)
            tallies[4].note(at_s, LinkState.LOST if i % 20 else LinkState.STREAMING, LinkReason.DROPPED)
        return tallies

    def held(n):
        tracemalloc.start()
        kept = run(n)
        now, _ = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        del kept
        return now

    held(2000)
    held(2000)  # what numpy keeps from its first use
    assert held(100_000) < held(20_000) + 8_000
