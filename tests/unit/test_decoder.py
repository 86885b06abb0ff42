from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sensors.decode.decoder import Decoder
from sensors.errors import DecodeError
from sensors.events import RawPacket
from sensors.ids import SensorId
from sensors.profiles.open_imu import OPEN_IMU, pack, unpack
from sensors.readings import Gap, Malformed, Reading

SENSOR = SensorId("a")


def packet(sequence, *, clock_us=None, n=10, start=0):
    counts = (np.arange(n * 6) % 100 + start).reshape(n, 6).astype(np.int16)
    clock_us = 1_000_000 + sequence * 50_000 if clock_us is None else clock_us
    return RawPacket(
        arrival_ns=sequence, sensor=SENSOR, payload=pack(sequence=sequence, clock_us=clock_us, counts=counts)
    )


def kinds(items):
    return [type(item) for item in items]


def test_scales_are_the_profiles():
    full = pack(sequence=0, clock_us=0, counts=np.array([[16384, 0, 0, 0, 0, 2048]], dtype=np.int16))
    (reading,) = Decoder(OPEN_IMU).push(RawPacket(arrival_ns=0, sensor=SENSOR, payload=full))
    assert np.degrees(reading.gyr_sensor_rad_s[0, 0]) == pytest.approx(1000.0)
    assert reading.acc_sensor_m_s2[0, 2] == pytest.approx(9.80665)  # standard gravity, exact by definition (CGPM 1901)


def test_samples_are_spread_between_packet_stamps_so_the_true_rate_is_read():
    decoder = Decoder(OPEN_IMU)
    decoder.push(packet(0, clock_us=1_000_000))
    (reading,) = decoder.push(packet(1, clock_us=1_050_505))  # 10 samples in 50.505 ms: 198 Hz
    assert np.diff(reading.device_s) == pytest.approx(0.0050505, abs=1e-9)
    assert reading.device_s[-1] == pytest.approx(1.050505)


def test_gap_is_counted_and_time_goes_on():
    decoder = Decoder(OPEN_IMU)
    decoder.push(packet(0))
    gap, reading = decoder.push(packet(3))
    assert isinstance(gap, Gap)
    assert (gap.n_lost, gap.restarted) == (20, False)
    assert reading.device_s[-1] == pytest.approx(1.15)


def test_duplicates_and_late_packets_are_dropped_and_counted():
    decoder = Decoder(OPEN_IMU)
    for sequence in (0, 1, 3):
        decoder.push(packet(sequence))
    assert decoder.push(packet(3)) == ()
    assert decoder.push(packet(2)) == ()
    assert decoder.n_duplicates == 2
    assert kinds(decoder.push(packet(4))) == [Reading]


def test_counters_wrap():
    decoder = Decoder(OPEN_IMU)
    decoder.push(packet(65_535, clock_us=2**32 - 25_000))
    (reading,) = decoder.push(packet(65_536, clock_us=25_000))
    assert np.all(np.diff(reading.device_s) > 0)
    assert reading.device_s[-1] == pytest.approx((2**32 + 25_000) * 1e-6)


@pytest.mark.parametrize("at_sequence", [500, 40_000])
def test_restart_is_recognised_by_counter_and_clock_both_at_zero(at_sequence):
    decoder = Decoder(OPEN_IMU)
    decoder.push(packet(at_sequence))
    gap, reading = decoder.push(packet(0, clock_us=30_000))
    assert gap.restarted
    assert reading.device_s[-1] == pytest.approx(0.03)


@pytest.mark.parametrize("n", range(1, 20))
@pytest.mark.parametrize("at_sequence", [10, 500, 40_000])
def test_restart_is_recognised_whatever_a_packet_holds(n, at_sequence):
    """Counters that step back look like counters that went nearly all the way round, which takes them about 70 minutes."""
    decoder = Decoder(OPEN_IMU)
    packet_us = n * 5_000
    before = packet(at_sequence, clock_us=at_sequence * packet_us, n=n)
    decoder.push(replace(before, arrival_ns=at_sequence * packet_us * 1000))
    after = replace(packet(0, clock_us=packet_us, n=n), arrival_ns=(at_sequence * packet_us + 1_500_000) * 1000)
    gap, reading = decoder.push(after)
    assert (gap.n_lost, gap.restarted) == (0, True)
    assert reading.device_s[-1] == pytest.approx(packet_us * 1e-6)


SECOND_NS = 1_000_000_000


@pytest.mark.parametrize("first_after", [0, 2, 5, 6, 9])
def test_a_board_that_restarts_as_soon_as_it_sends_is_seen_to(first_after):
    """A weak battery: it comes back within a second, at much the same count as where it went."""
    decoder = Decoder(OPEN_IMU)
    for sequence in range(6):
        decoder.push(replace(packet(sequence), arrival_ns=sequence * SECOND_NS // 20))
    decoder.link_again()
    after = [replace(packet(first_after + i), arrival_ns=SECOND_NS * 6 // 5 + i * SECOND_NS // 20) for i in (0, 1)]
    gap, first = decoder.push(after[0])
    assert (gap.n_lost, gap.restarted) == (0, True)
    assert first.device_s[-1] == pytest.approx(1.0 + first_after * 0.05)
    assert kinds(decoder.push(after[1])) == [Reading]
    assert decoder.n_duplicates == 0


@pytest.mark.parametrize(
    ("late_ms", "told"), [(250, (990, False)), (-450, (990, False)), (350, (0, True)), (-550, (0, True))]
)
def test_a_new_connection_to_a_board_that_ran_on_is_a_gap_and_to_one_that_did_not_a_restart(late_ms, told):
    """Late by so much against the last packet before, which may have been late itself."""
    decoder = Decoder(OPEN_IMU)
    decoder.push(replace(packet(0), arrival_ns=0))
    decoder.link_again()
    gap, _ = decoder.push(replace(packet(100), arrival_ns=5 * SECOND_NS + late_ms * 1_000_000))
    assert (gap.n_lost, gap.restarted) == told


@pytest.mark.parametrize("stalled_s", [5, 50])
def test_packets_that_waited_in_this_program_are_no_restart(stalled_s):
    decoder = Decoder(OPEN_IMU)
    decoder.push(replace(packet(0), arrival_ns=0))
    assert kinds(decoder.push(replace(packet(1), arrival_ns=stalled_s * SECOND_NS))) == [Reading]
    due = round(stalled_s / 0.05)  # the first that comes without delay again
    assert kinds(decoder.push(replace(packet(due), arrival_ns=stalled_s * SECOND_NS))) == [Gap, Reading]


@pytest.mark.parametrize("value", [-32768, 32767])
def test_saturation_is_told(value):
    counts = np.zeros((3, 6), dtype=np.int16)
    counts[1, 2] = value
    event = RawPacket(arrival_ns=0, sensor=SENSOR, payload=pack(sequence=0, clock_us=0, counts=counts))
    (reading,) = Decoder(OPEN_IMU).push(event)
    assert reading.saturated


@pytest.mark.parametrize(
    "payload",
    [
        b"",
        b"\x01",
        b"\x02\x0a" + bytes(126),
        b"\x01\x00" + bytes(6),
        b"\x01\x14" + bytes(246),
        b"\x01\x0a" + bytes(125),
        b"\x01\x0a" + bytes(127),
    ],
    ids=["empty", "stub", "other version", "no samples", "too many", "a byte short", "a byte long"],
)
def test_wrong_payloads_are_refused_and_dropped(payload):
    with pytest.raises(DecodeError):
        unpack(payload)
    decoder = Decoder(OPEN_IMU)
    decoder.push(packet(0))
    assert kinds(decoder.push(RawPacket(arrival_ns=1, sensor=SENSOR, payload=payload))) == [Malformed]
    assert kinds(decoder.push(packet(1))) == [Reading]


@given(st.lists(st.binary(max_size=260), max_size=20))
def test_junk_never_crashes_nor_invents_samples(payloads):
    decoder = Decoder(OPEN_IMU)
    for payload in payloads:
        for item in decoder.push(RawPacket(arrival_ns=0, sensor=SENSOR, payload=payload)):
            if isinstance(item, Reading):
                assert payload[0] == 1
                assert len(item.device_s) == payload[1]


@given(st.lists(st.one_of(st.integers(1, 6), st.integers(-8, 0)), max_size=80))
def test_whatever_the_radio_drops_doubles_or_delays_no_sample_comes_twice_and_none_is_wrong(steps):
    decoder = Decoder(OPEN_IMU)
    decoder.push(packet(20))
    newest, n_dropped = 20, 0
    for step in steps:
        items = decoder.push(packet(newest + step))
        if step <= 0:
            n_dropped += 1
            assert items == ()
            continue
        assert kinds(items) == ([Gap, Reading] if step > 1 else [Reading])
        assert items[-1].device_s[-1] == pytest.approx(1.0 + (newest + step) * 0.05)
        assert sum(item.n_lost for item in items if isinstance(item, Gap)) == 10 * (step - 1)
        newest += step
    assert decoder.n_duplicates == n_dropped
