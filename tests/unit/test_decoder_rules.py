"""What each rule of the decoders is there for, one case each: without it a reading, a gap or a time would be another."""

from __future__ import annotations

import struct

import numpy as np
import pytest

from sensors.decode.decoder import decoder_for
from sensors.events import RawPacket, SensorInfo
from sensors.ids import Role
from sensors.ingest import Ingest
from sensors.profiles.load import load_profile
from sensors.profiles.open_imu import OPEN_IMU, pack
from sensors.profiles.registry import PROFILES
from sensors.readings import Gap, ImuBlock, Malformed, Reading
from tests.unit.profile_samples import COUNTED_ONLY, IN_PARTS, PER_SAMPLE, SENSOR, packet

GSP = PROFILES["movesense-gsp"]


def open_packet(sequence, clock_us, *, n=10, arrival_s=None):
    counts = np.full((n, 6), 100, dtype=np.int16)
    return packet(
        pack(sequence=sequence, clock_us=clock_us, counts=counts), clock_us * 1e-6 if arrival_s is None else arrival_s
    )


def gsp(clock_ms, n_bytes=None):
    message = struct.pack("<BBI48f", 2, 0x63, clock_ms, *[1.0] * 48)
    return message if n_bytes is None else message[:n_bytes]


def per_sample(*ticks):
    return b"\x07" + b"".join(struct.pack(">H6h", tick, 0, 0, 2048, tick, 0, 0) for tick in ticks)


def kinds(items):
    return [type(item) for item in items]


def test_a_counter_a_little_behind_whose_clock_is_not_is_a_new_beginning():
    decoder = decoder_for(OPEN_IMU)
    for k in range(10):
        decoder.push(open_packet(k, 50_000 * (k + 1)))
    gap, reading = decoder.push(open_packet(5, 9_000_000, arrival_s=1.0))
    assert gap.restarted
    assert reading.device_s[-1] == 9.0
    assert decoder.n_duplicates == 0


def test_the_same_counter_over_a_new_connection_is_a_new_beginning():
    """A board that lost its power within a third of a second, at the very same count."""
    decoder = decoder_for(OPEN_IMU)
    decoder.push(open_packet(0, 50_000))
    decoder.link_again()
    gap, reading = decoder.push(open_packet(0, 50_500, arrival_s=0.3))
    assert gap.restarted
    assert reading.device_s[-1] == pytest.approx(0.0505)


def test_a_lost_packet_held_as_many_samples_as_the_one_before():
    decoder = decoder_for(OPEN_IMU)
    decoder.push(open_packet(0, 50_000))
    decoder.push(open_packet(1, 70_000, n=4))
    gap, _ = decoder.push(open_packet(4, 130_000, n=4))
    assert gap.n_lost == 2 * 4


def test_the_true_rate_is_read_over_a_gap_as_well():
    decoder = decoder_for(OPEN_IMU)
    decoder.push(open_packet(0, 50_000))
    gap, reading = decoder.push(open_packet(3, 50_000 + 3 * 52_000))  # at 192.3 samples a second
    assert gap.n_lost == 20
    assert np.diff(reading.device_s) == pytest.approx(0.0052)


def test_a_stamp_too_soon_for_the_samples_before_it_is_a_new_beginning():
    decoder = decoder_for(GSP)
    for k in range(5):
        decoder.push(packet(gsp(1000 + 77 * k), 0.077 * k))
    gap, reading = decoder.push(packet(gsp(1338), 0.34))  # 30 ms after eight samples at 104 a second
    assert gap.restarted
    assert reading.device_s[0] == 1.338


def test_between_stamps_of_first_samples_lie_those_of_the_packet_before():
    decoder = decoder_for(load_profile(IN_PARTS.text.replace("per_packet_last", "per_packet_first"), "x"))
    items, first = [], 0
    for n in (5, 5, 5, 9, 2, 7, 3):
        payload = struct.pack("<BBH", 1, n, 10 * first) + struct.pack("<6h", 0, 0, 0, 0, 0, 2048) * n
        first += n
        items += decoder.push(packet(payload, 0.01 * first))
    assert kinds(items) == [Reading] * 7
    assert np.concatenate([item.device_s for item in items]) == pytest.approx(0.01 * np.arange(36))


def test_a_rate_measured_over_one_sample_to_a_millisecond_finds_no_gap_among_twelve():
    """At 104 a second the first stamps are 9 ms apart; twelve such steps are 8 ms short of the truth."""
    decoder, sample, items = decoder_for(load_profile(IN_PARTS.text.replace("most = 9", "most = 19"), "x")), -1, []
    for n in (1, 1, 12, 12, 1, 12):
        sample += n
        payload = struct.pack("<BBH", 1, n, 1000 * sample // 104) + struct.pack("<6h", 0, 0, 0, 0, 0, 2048) * n
        items += decoder.push(packet(payload, sample / 104))
    assert kinds(items) == [Reading] * 6


def test_a_stamp_of_64_bits_that_no_clock_reaches_is_refused():
    text = OPEN_IMU.text.replace('"clock", type = "u32"', '"clock", type = "u64"')
    for more, most in (("", 10**16), (", max = 500", 500)):
        profile = load_profile(text.replace('type = "u64"', f'type = "u64"{more}'), "x")
        for clock, kind in ((most, Reading), (most + 1, Malformed), (2**64 - 1, Malformed)):
            payload = struct.pack("<BBHQ6h", 1, 1, 0, clock, 0, 0, 0, 0, 0, 2048)
            assert kinds(decoder_for(profile).push(packet(payload))) == [kind]


def test_a_gap_does_not_count_as_a_slower_rate():
    decoder, first, readings = decoder_for(IN_PARTS), 0, []
    for n in (9, 9, 9, 9, None, 9, 9):
        if n is None:
            first += 2  # a packet of two is lost
            continue
        first += n
        payload = struct.pack("<BBH", 1, n, 10 * first) + struct.pack("<6h", 0, 0, 0, 0, 0, 2048) * n
        items = decoder.push(packet(payload, 0.01 * first))
        assert [item.n_lost for item in items if isinstance(item, Gap)] in ([], [2])
        readings.append(items[-1])
    assert [float(np.ptp(one.device_s)) for one in readings] == pytest.approx([0.08] * 6)


def test_samples_that_were_there_already_leave_the_others_their_own_values():
    decoder = decoder_for(PER_SAMPLE)
    decoder.push(packet(per_sample(100, 110)))
    (reading,) = decoder.push(packet(per_sample(110, 120, 120, 130), 0.02))
    assert np.degrees(reading.gyr_sensor_rad_s[:, 1]) * 32768 / 2000 == pytest.approx([120, 130])  # y is x
    assert reading.device_s == pytest.approx([0.12, 0.13])


def test_a_jump_within_a_notification_is_no_pause_of_the_radio():
    decoder = decoder_for(PER_SAMPLE)
    decoder.push(packet(per_sample(0, 10)))
    items = decoder.push(packet(per_sample(5000, 10_000), 5.0))
    assert kinds(items) == [Gap, Reading, Gap, Reading]
    assert [item.restarted for item in items if isinstance(item, Gap)] == [False, True]


def test_a_message_whose_last_part_is_short_is_refused_at_once():
    decoder = decoder_for(GSP)
    assert decoder.push(packet(gsp(1000, n_bytes=100))) == ()
    (item,) = decoder.push(packet(b"\x03\x63" + bytes(20), 0.01))
    assert isinstance(item, Malformed)
    assert item.problem == "it has 120 bytes, not 198: a header of 6 and 8 samples of 24"


def test_a_clock_that_never_wraps_goes_back_only_to_begin_anew():
    text = IN_PARTS.text.replace('unit = "ms"', 'unit = "ms"\nwraps_at = 0')
    decoder = decoder_for(load_profile(text, "x"))

    def stamped(ms):
        return struct.pack("<BBH6h", 1, 1, ms, 0, 0, 0, 0, 0, 2048)

    for ms in range(60_000, 60_200, 10):
        decoder.push(packet(stamped(ms), ms * 1e-3))
    assert decoder.push(packet(stamped(60_150), 60.2)) == ()
    gap, reading = decoder.push(packet(stamped(10), 60.21))
    assert gap.restarted
    assert reading.device_s[0] == pytest.approx(0.01)


@pytest.mark.parametrize("n_lost", [1, 7, 8, 10, 14])
def test_a_counter_of_four_bits_that_is_nearly_round_is_not_behind(n_lost):
    text = COUNTED_ONLY.text.replace('field = "number"', 'field = "number"\nwraps_at = 16')
    decoder, items = decoder_for(load_profile(text, "x")), []
    for k in [*range(30), *range(30 + n_lost, 60)]:
        payload = bytes([k % 16]) + struct.pack("<12h", *[100] * 12)
        for _ in range(1 + (k % 7 == 0)):  # some come twice
            items += decoder.push(packet(payload, 0.02 * k))
    assert [(item.n_lost, item.restarted) for item in items if isinstance(item, Gap)] == [(2 * n_lost, False)]
    assert len(items) - 1 == 60 - n_lost


def test_the_delay_of_the_low_pass_is_taken_off_in_milliseconds():
    late = OPEN_IMU.text.replace("[bluetooth]", "filter_delay_ms = 3.5\n[bluetooth]", 1)
    ends_s = []
    for text in (OPEN_IMU.text, late):
        ingest = Ingest()
        ingest.push(
            SensorInfo(arrival_ns=0, sensor=SENSOR, role=Role.CLUB, name="", profile="open-imu-1", profile_text=text)
        )
        for k in range(20):
            sent = open_packet(k, 50_000 * (k + 1))
            for item in ingest.push(RawPacket(arrival_ns=sent.arrival_ns, sensor=SENSOR, payload=sent.payload)):
                assert isinstance(item, ImuBlock)
                ends_s.append(item.t_s[-1])
    assert ends_s[19] - ends_s[39] == pytest.approx(0.0035)
