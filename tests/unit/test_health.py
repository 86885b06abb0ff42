import numpy as np
import pytest

from sensors.events import BatteryLevel, LinkChange, LinkReason, LinkState, SensorInfo
from sensors.health import HealthLog
from sensors.ids import Role, SensorId
from sensors.readings import Gap, Malformed, Reading

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
