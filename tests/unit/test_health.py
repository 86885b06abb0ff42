from dataclasses import replace

import numpy as np
import pytest
from record_samples import CLUB, START_NS, introductions, packet

from sensors.clock.envelope import ClockFit
from sensors.events import BatteryLevel, LinkChange, LinkReason, LinkState, SensorInfo, SignalStrength
from sensors.health import HealthLog, SensorHealth
from sensors.ids import Role, SensorId
from sensors.ingest import Ingest
from sensors.readings import Gap, Malformed, Reading
from sensors.tally.lateness import Jitter
from sensors.tally.loss import Loss
from server import views
from server.health_advice import HealthTrouble, health_advice

A, B = SensorId("a"), SensorId("b")


def info(sensor, role):
    return SensorInfo(arrival_ns=0, sensor=sensor, role=role, profile="open-imu-1", name=f"name {sensor}")


def reading(arrival_ns, n=10):
    zero = np.zeros((n, 3))
    return Reading(
        arrival_ns=arrival_ns, sensor=A, device_s=np.arange(n) * 0.005, gyr_sensor_rad_s=zero, acc_sensor_m_s2=zero,
        saturated=False,
    )  # fmt: skip


@pytest.fixture
def log():
    log = HealthLog()
    log.introduce(info(B, Role.CLUB))
    log.introduce(info(A, Role.FOREARM))
    return log


def test_forearm_comes_first_whoever_was_found_first(log):
    assert [h.role for h in log.at(0)] == [Role.FOREARM, Role.CLUB]


def test_rate_is_that_of_the_last_second_or_so_and_falls_to_zero_in_silence(log):
    for i in range(60):
        log.count(reading(i * 50_000_000))
    end_ns = 59 * 50_000_000
    assert log.at(end_ns)[0].rate_hz == pytest.approx(200, rel=0.01)
    assert log.at(end_ns + 100_000_000)[0].rate_hz == pytest.approx(200, rel=0.05)
    assert 0 < log.at(end_ns + 800_000_000)[0].rate_hz < 120
    assert log.at(end_ns + 2_000_000_000)[0].rate_hz == 0


def test_counts_and_link_and_battery_are_kept_through_a_reconnection(log):
    log.count(reading(0))
    log.count(Gap(arrival_ns=1, sensor=A, n_lost=30))
    log.count(Malformed(arrival_ns=2, sensor=A, problem="short"))
    log.note(LinkChange(arrival_ns=3, sensor=A, state=LinkState.LOST, reason=LinkReason.DROPPED))
    log.note(BatteryLevel(arrival_ns=4, sensor=A, battery_pct=55))
    log.introduce(info(A, Role.FOREARM))
    health = log.at(5)[0]
    assert (health.n_samples, health.n_lost, health.n_malformed) == (10, 30, 1)
    assert (health.state, health.reason, health.battery_pct) == (LinkState.LOST, LinkReason.DROPPED, 55)


def test_the_whole_picture_of_a_sensor():
    """Through the decoder and the clock, as live: a lossy stretch, a duplicate, a drop, jitter that is known."""
    rng = np.random.default_rng(8)
    jitter_ns = rng.uniform(0.0, 0.03e9, 2000).astype(int)
    jitter_ns[::20] = 0
    ingest = Ingest()
    for event in introductions():
        ingest.push(event)
    ingest.push(SignalStrength(arrival_ns=START_NS, sensor=CLUB, rssi_dbm=-70))
    for i in range(2000):
        event = packet(CLUB, i, START_NS + i * 50_000_000 + int(jitter_ns[i]))
        if 1000 <= i < 1010:
            continue
        ingest.push(event)
        if i == 500:
            ingest.push(event)
        if i == 999:
            ingest.push(link(event.arrival_ns, LinkState.LOST, LinkReason.DROPPED))
        if i == 1010:
            ingest.push(link(event.arrival_ns, LinkState.STREAMING))
    end_ns = START_NS + 1999 * 50_000_000
    (_, club) = ingest.health(end_ns)
    assert (club.n_packets, club.n_packets_lost, club.n_lost, club.n_duplicates) == (1990, 10, 100, 1)
    assert (club.nominal_rate_hz, club.device_rate_hz) == (200.0, pytest.approx(200.0))
    assert club.recent.n_lost == 0
    expected_s = np.quantile(jitter_ns, [0.5, 0.95, 0.99]) * 1e-9
    whole = club.jitter_overall
    assert [whole.p50_s, whole.p95_s, whole.p99_s] == pytest.approx(expected_s, abs=0.001)
    assert club.jitter is not None
    assert club.clock.drift_ppm == pytest.approx(0.0, abs=2.0)
    assert club.clock.spread_s < 0.001
    assert club.clock_age_s < 0.06
    assert (club.rssi_dbm, club.rssi_age_s) == (-70, pytest.approx(99.95))
    (drop,) = club.drops
    assert (drop.reason, drop.back_s - drop.at_s) == (LinkReason.DROPPED, pytest.approx(0.55, abs=0.05))
    assert (club.worst[0].n_lost, club.worst[0].start_s) == (100, pytest.approx(49.95, abs=0.05))
    assert (club.n_drops, club.battery_pct) == (1, 88)


def link(arrival_ns, state, reason=LinkReason.NONE):
    return LinkChange(arrival_ns=arrival_ns, sensor=CLUB, state=state, reason=reason)


def test_saturation_is_counted_in_seconds():
    log = HealthLog()
    log.introduce(info(A, Role.FOREARM))
    for i in range(4):
        log.count(reading(i * 50_000_000)._replace(saturated=i % 2 == 0))
    assert log.at(0)[0].saturated_s == pytest.approx(0.1)


def test_nothing_is_known_of_a_sensor_that_has_not_sent():
    log = HealthLog()
    log.introduce(info(A, Role.FOREARM))
    (health,) = log.at(0)
    assert health.recent.share is None
    assert (health.jitter, health.clock, health.device_rate_hz, health.rssi_dbm, health.worst) == (None,) * 4 + ((),)
    assert health_advice(health, overall=False) == health_advice(health, overall=True) == ()
    assert views.sensor_view(health, None).health.jitter is None


ILL = {
    HealthTrouble.LOSS: {"recent": Loss(n_samples=970, n_lost=30)},
    HealthTrouble.LATE: {"jitter": Jitter(p50_s=0.02, p95_s=0.07, p99_s=0.1)},
    HealthTrouble.RATE: {"nominal_rate_hz": 200.0, "device_rate_hz": 104.0},
    HealthTrouble.CLOCK: {"clock": ClockFit(offset_s=0.0, drift_ppm=150.0, spread_s=0.001, span_s=60.0)},
    HealthTrouble.SATURATED: {"saturated_s": 1.5},
    HealthTrouble.UNREADABLE: {"n_malformed": 1},
    HealthTrouble.DUPLICATES: {"n_duplicates": 30},
    HealthTrouble.DROPS: {"n_drops": 3},
    HealthTrouble.RESTARTS: {"n_restarts": 1},
    HealthTrouble.BATTERY: {"battery_pct": 80, "battery_hours_left": 0.2},
    HealthTrouble.SIGNAL: {"rssi_dbm": -92},
}
WELL = SensorHealth(
    sensor=A, role=Role.CLUB, name="clip", state=LinkState.STREAMING, reason=LinkReason.NONE, rate_hz=200.0,
    n_samples=20_000, n_lost=0, n_malformed=0, battery_pct=80, n_packets=2000, nominal_rate_hz=200.0,
    device_rate_hz=198.0, recent=Loss(n_samples=1980, n_lost=20), saturated_s=0.3,
    jitter=Jitter(p50_s=0.01, p95_s=0.05, p99_s=0.2),
    clock=ClockFit(offset_s=0.0, drift_ppm=40.0, spread_s=0.002, span_s=60.0), rssi_dbm=-70, n_drops=1,
)  # fmt: skip


def test_a_sensor_that_is_well_needs_no_advice():
    assert health_advice(WELL, overall=False) == ()


@pytest.mark.parametrize("trouble", list(HealthTrouble))
def test_each_trouble_is_seen_alone_and_says_what_to_do(trouble):
    (advice,) = health_advice(replace(WELL, **ILL[trouble]), overall=False)
    assert advice.trouble is trouble
    assert advice.text.endswith(".")
    assert len(advice.text.split()) > 8
    (shown,) = views.sensor_view(replace(WELL, **ILL[trouble]), None).health.advice
    assert shown.text == advice.text


def test_a_clock_that_runs_wrong_and_one_that_cannot_be_fitted_are_told_apart():
    fit = WELL.clock
    (slow,) = health_advice(replace(WELL, clock=replace(fit, drift_ppm=-150.0)), overall=False)
    assert slow.text.startswith("Its clock runs 150 millionths slow")
    assert "angles stay right" in slow.text
    (loose,) = health_advice(replace(WELL, clock=replace(fit, spread_s=0.02)), overall=False)
    assert "cannot be put together well" in loose.text


def test_of_a_recording_the_whole_counts():
    (drop,) = health_advice(replace(WELL, recent=Loss(n_samples=1, n_lost=1)), overall=True)
    assert drop.trouble is HealthTrouble.DROPS
    lossy = replace(WELL, n_lost=1000, n_drops=0, jitter_overall=Jitter(p50_s=0.0, p95_s=0.2, p99_s=0.3))
    assert [a.trouble for a in health_advice(lossy, overall=True)] == [HealthTrouble.LOSS, HealthTrouble.LATE]
