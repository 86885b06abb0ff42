"""Decoders of every kind of clock: golden packets by the makers' pages, and what lost, doubled and late packets become."""

import struct

import numpy as np
import pytest

from sensors.decode.arrival import PAUSE_S, ArrivalDecoder
from sensors.decode.decoder import Decoder, decoder_for
from sensors.decode.per_sample import PerSampleDecoder
from sensors.decode.stamped import StampedDecoder
from sensors.profiles.load import load_profile
from sensors.profiles.open_imu import OPEN_IMU
from sensors.profiles.registry import PROFILES
from sensors.readings import Gap, Malformed, Reading
from tests.unit.profile_samples import COUNTED_ONLY, IN_PARTS, PER_SAMPLE, packet

GSP, THINGY = PROFILES["movesense-gsp"], PROFILES["thingy-52"]
G = 9.80665


def kinds(items):
    return [type(item) for item in items]


def gsp(clock_ms, n=8):
    """One message by hand, from the maker's protocol page and example client: type 2, reference, stamp, all acc, all gyr."""
    acc = [value for i in range(n) for value in (0.5 * i, -1.25, 9.75)]
    gyr = [value for i in range(n) for value in (10.0 * i, -90.0, 0.125)]
    return struct.pack("<BBI", 2, 0x63, clock_ms) + struct.pack(f"<{3 * n}f", *acc) + struct.pack(f"<{3 * n}f", *gyr)


def parts(message, first=158):
    """As a notification of 158 bytes holds it (an ATT_MTU of 161), the rest in type 3."""
    return [message[:first], b"\x03\x63" + message[first:]]


def test_each_kind_has_its_decoder():
    found = {p.name: type(decoder_for(p)) for p in (OPEN_IMU, GSP, THINGY, PER_SAMPLE, COUNTED_ONLY, IN_PARTS)}
    assert found == {
        "open-imu-1": Decoder, "movesense-gsp": StampedDecoder, "thingy-52": ArrivalDecoder,
        "per-sample": PerSampleDecoder, "counted-only": ArrivalDecoder, "in-parts": StampedDecoder,
    }  # fmt: skip


def test_a_golden_gsp_message_whole_and_in_two_parts():
    message = gsp(1000)
    assert len(message) == 6 + 8 * 24
    (whole,) = decoder_for(GSP).push(packet(message))
    decoder = decoder_for(GSP)
    assert [decoder.push(packet(part)) for part in parts(message)[:1]] == [()]
    (joined,) = decoder.push(packet(parts(message)[1], 0.01))
    for reading in (whole, joined):
        assert np.degrees(reading.gyr_sensor_rad_s[3]) == pytest.approx([30.0, -90.0, 0.125])
        assert reading.acc_sensor_m_s2[3] == pytest.approx([1.5, -1.25, 9.75])
        assert reading.device_s == pytest.approx(1.0 + np.arange(8) / 104)  # the stamp is of the first sample
        assert not reading.saturated


def test_answers_to_commands_are_no_samples():
    decoder = decoder_for(GSP)
    assert decoder.push(packet(struct.pack("<BBH", 1, 0x63, 200))) == ()
    assert kinds(decoder.push(packet(gsp(1000)))) == [Reading]
    assert kinds(decoder.push(packet(b"\x02\x64" + gsp(2000)[2:]))) == [Malformed]  # another subscription's


def test_a_lost_part_loses_its_message_and_no_other():
    decoder = decoder_for(GSP)
    first, second = (parts(gsp(clock_ms)) for clock_ms in (1000, 1077))
    assert kinds(decoder.push(packet(first[0], 0.0))) == []
    assert [item.problem for item in decoder.push(packet(second[0], 0.077))] == [
        "a message began before the last one was whole"
    ]
    assert kinds(decoder.push(packet(second[1], 0.078))) == [Reading]
    assert [item.problem for item in decoder.push(packet(first[1], 0.08))] == ["a continuation of nothing"]


def test_parts_of_two_messages_are_not_put_together():
    """The second part of one and the first of the next are lost: the lengths would fit."""
    decoder = decoder_for(GSP)
    first, second = parts(gsp(1000)), parts(gsp(1077))
    decoder.push(packet(first[0], 0.0))
    assert kinds(decoder.push(packet(second[1], 0.077))) == [Malformed]
    assert kinds(decoder.push(packet(parts(gsp(1154))[0], 0.154))) == []
    assert kinds(decoder.push(packet(parts(gsp(1154))[1], 0.155))) == [Reading]


def test_values_that_no_sensor_measures_are_refused():
    for at, value in ((6, float("nan")), (6, float("inf")), (6, 1e6), (6 + 96, 1e30)):
        message = bytearray(gsp(1000))
        message[at : at + 4] = struct.pack("<f", value)
        (item,) = decoder_for(GSP).push(packet(bytes(message)))
        assert isinstance(item, Malformed)


def test_a_golden_thingy_notification():
    """Nine numbers of 16 bits, little-endian: acc with 10 bits after the point, gyr with 5, compass with 4 (the maker's page)."""
    payload = struct.pack("<9h", 1024, -512, 0, 32, -320, 16, 160, -16, 0)
    (reading,) = decoder_for(THINGY).push(packet(payload, 5.0))
    assert reading.acc_sensor_m_s2[0] == pytest.approx([G, -G / 2, 0.0])
    assert np.degrees(reading.gyr_sensor_rad_s[0]) == pytest.approx([1.0, -10.0, 0.5])
    assert reading.device_s.tolist() == [5.0]
    for value, saturated in ((32735, False), (32736, True), (-32768, True), (-32767, False)):
        payload = struct.pack("<9h", 0, 0, 1024, 0, value, 0, 0, 0, 0)
        (reading,) = decoder_for(THINGY).push(packet(payload))
        assert reading.saturated is saturated


class TestStampsAlone:
    def feed(self, *clocks_ms, late_s=0.0):
        decoder = decoder_for(GSP)
        items = [decoder.push(packet(gsp(ms % 2**32), (ms - clocks_ms[0]) * 1e-3 + late_s)) for ms in clocks_ms]
        return decoder, items

    def test_a_step_of_stamps_is_a_gap_of_what_would_fit_in(self):
        _, items = self.feed(1000, 1077, 1154, 1385)  # two packets of 77 ms are missing
        assert [kinds(one) for one in items] == [[Reading], [Reading], [Reading], [Gap, Reading]]
        assert (items[3][0].n_lost, items[3][0].restarted) == (16, False)

    def test_duplicates_and_late_packets_are_dropped(self):
        decoder, items = self.feed(1000, 1077, 1231, 1231, 1154, 1308)
        assert [kinds(one) for one in items] == [[Reading], [Reading], [Gap, Reading], [], [], [Reading]]
        assert decoder.n_duplicates == 2

    def test_the_clock_wraps(self):
        _, items = self.feed(2**32 - 77, 2**32, 2**32 + 77)
        assert [kinds(one) for one in items] == [[Reading]] * 3
        assert items[1][0].device_s[0] - items[0][0].device_s[0] == pytest.approx(0.077, abs=0.001)

    @pytest.mark.parametrize("after_ms", [5, 900_000])
    def test_a_clock_that_the_arrivals_contradict_began_anew(self, after_ms):
        decoder = decoder_for(GSP)
        decoder.push(packet(gsp(60_000), 0.0))
        decoder.push(packet(gsp(60_077), 0.08))
        gap, reading = decoder.push(packet(gsp(after_ms), 1.5))
        assert gap.restarted
        assert reading.device_s[0] == pytest.approx(after_ms * 1e-3)

    def test_a_link_that_was_away_for_a_minute_is_a_gap(self):
        _, items = self.feed(1000, 1077, 61_077)
        assert kinds(items[2]) == [Gap, Reading]
        assert not items[2][0].restarted
        assert items[2][0].n_lost == pytest.approx(60 * 104 - 8, abs=8)

    def test_whole_milliseconds_are_smoothed(self):
        """Stamps of a sensor that runs at 103 Hz, cut to milliseconds: the spacing between samples must not jump with them."""
        rate_hz = 103.0
        stamps = [int(1000 + 1000 * 8 * k / rate_hz) for k in range(400)]
        _, items = self.feed(*stamps)
        times = np.concatenate([one[0].device_s for one in items])
        steps = np.diff(times)[800:]
        assert steps == pytest.approx(1 / rate_hz, abs=0.0004)  # unsmoothed: up to 1 ms
        assert times[800:] == pytest.approx(1.0 + np.arange(800, 3200) / rate_hz, abs=0.0011)
        assert all(kinds(one) == [Reading] for one in items)

    def test_time_goes_on_before_the_rate_is_known(self):
        """At 120 a second the second stamp comes before the end of the first packet, reckoned at 104."""
        _, items = self.feed(1000, 1067, 1133)
        assert (np.diff(np.concatenate([one[-1].device_s for one in items])) > 0.0).all()

    def test_a_rate_off_nominal_by_eight_per_cent_is_no_gap(self):
        stamps = [round(1000 + 1000 * 8 * k / (104 * 0.92)) for k in range(50)]
        _, items = self.feed(*stamps)
        assert all(kinds(one) == [Reading] for one in items)


class TestStampsOfSamples:
    def message(self, *ticks, kind=7):
        return bytes([kind]) + b"".join(struct.pack(">H6h", tick % 2**16, 100, 200, 300, 1, 2, 3) for tick in ticks)

    def test_big_endian_and_axes(self):
        (reading,) = decoder_for(PER_SAMPLE).push(packet(self.message(1000, 1010)))
        assert reading.acc_sensor_m_s2[0] / G * 2048 == pytest.approx([-200.0, 100.0, 300.0])  # x is -y, y is x
        assert np.degrees(reading.gyr_sensor_rad_s[1]) * 32768 / 2000 == pytest.approx([-2.0, 1.0, 3.0])
        assert reading.device_s == pytest.approx([1.0, 1.01])

    def test_a_hole_in_a_packet_wrap_duplicates_and_restart(self):
        decoder = decoder_for(PER_SAMPLE)
        first, gap, second = decoder.push(packet(self.message(65_500, 65_510, 65_550)))
        assert (gap.n_lost, second.device_s.tolist()) == (3, pytest.approx([65.55]))
        assert len(first.device_s) == 2
        (reading,) = decoder.push(packet(self.message(65_550, 65_560)))
        assert reading.device_s == pytest.approx([65.56])
        assert decoder.push(packet(self.message(65_540))) == ()
        assert decoder.n_duplicates == 2
        gap, reading = decoder.push(
            packet(self.message(30_000, 30_010))
        )  # more than half a wrap: back, and no late one
        assert gap.restarted
        assert reading.device_s == pytest.approx([30.0, 30.01])

    @pytest.mark.parametrize("payload", [b"\x07", b"\x06" + bytes(14), b"\x07" + bytes(13), b"\x07" + bytes(21 * 14)])
    def test_wrong_ones(self, payload):
        assert kinds(decoder_for(PER_SAMPLE).push(packet(payload))) == [Malformed]

    def test_grouping_changes_nothing(self):
        ticks = [0, 10, 20, 50, 60, 60, 70, 80, 65, 90, 300, 310]
        one_by_one, grouped = decoder_for(PER_SAMPLE), decoder_for(PER_SAMPLE)
        a = [item for tick in ticks for item in one_by_one.push(packet(self.message(tick)))]
        b = grouped.push(packet(self.message(*ticks[:5]))) + grouped.push(packet(self.message(*ticks[5:])))
        for items in (a, b):
            assert [item.n_lost for item in items if isinstance(item, Gap)] == [2, 20]
        times = [np.concatenate([item.device_s for item in items if isinstance(item, Reading)]) for items in (a, b)]
        assert times[0] == pytest.approx(times[1])
        assert one_by_one.n_duplicates == grouped.n_duplicates == 2


class TestNoClock:
    def arrivals(self, rate_hz, seconds, *, interval_s=0.03, seed=1):
        """When notifications of one sample arrive: at connection events, one in twenty late by an event."""
        rng = np.random.default_rng(seed)
        true_s = np.arange(int(seconds * rate_hz)) / rate_hz
        events = np.ceil((true_s + 0.001) / interval_s) + rng.geometric(0.95, len(true_s)) - 1
        return true_s, np.maximum.accumulate(events * interval_s + rng.uniform(0.0004, 0.0012, len(true_s)))

    @pytest.mark.parametrize("rate_hz", [93.0, 98.0, 100.0, 101.0, 106.0])
    def test_time_follows_the_true_rate(self, rate_hz):
        true_s, arrivals_s = self.arrivals(rate_hz, 40.0)
        decoder = decoder_for(THINGY)
        items = [item for at_s in arrivals_s for item in decoder.push(packet(bytes(18), 7.0 + at_s))]
        assert kinds(items) == [Reading] * len(true_s)
        times = np.array([item.device_s[-1] for item in items]) - 7.0
        assert np.all(np.diff(times) > 0)
        settled = true_s > 10.0
        error = (times - true_s)[settled]
        assert abs(error - np.median(error)).max() < 0.012  # the worst moment; docs/adding-a-sensor.md tells the spread
        assert abs(np.median(error)) < 0.015  # with the nominal rate it would lie 130 ms behind at 93 a second
        quarter = int(rate_hz / 4)
        spans = (times[quarter:] - times[:-quarter])[settled[:-quarter]]
        assert spans == pytest.approx(quarter / rate_hz, rel=0.06)

    def test_a_pause_is_a_gap_and_a_short_one_is_not(self):
        decoder = decoder_for(THINGY)
        for i in range(20):
            decoder.push(packet(bytes(18), i * 0.01))
        assert kinds(decoder.push(packet(bytes(18), 0.2 + 0.9 * PAUSE_S))) == [Reading]
        gap, reading = decoder.push(packet(bytes(18), 2.0))
        assert gap.n_lost > 100
        assert reading.device_s[-1] == pytest.approx(2.0)

    def numbered(self, number):
        return bytes([number % 256]) + struct.pack("<12h", *([100] * 12))

    def test_a_counter_tells_losses_and_doubles(self):
        decoder = decoder_for(COUNTED_ONLY)
        assert COUNTED_ONLY.shows_loss
        decoder.push(packet(self.numbered(254), 0.00))
        assert decoder.push(packet(self.numbered(254), 0.00)) == ()
        gap, reading = decoder.push(packet(self.numbered(257), 0.06))
        assert (gap.n_lost, gap.restarted, len(reading.device_s)) == (4, False, 2)
        assert np.diff(reading.device_s) == pytest.approx(0.01, rel=0.01)
        assert decoder.push(packet(self.numbered(256), 0.07)) == ()
        assert decoder.n_duplicates == 2

    def test_a_counter_of_few_bits_that_went_round_meanwhile(self):
        """Nothing for 13.4 s, which is two and a half rounds of 256 packets of 20 ms: all of it is counted, time is right."""
        decoder = decoder_for(COUNTED_ONLY)
        for k in range(200):
            decoder.push(packet(self.numbered(k), 0.02 * k))
        gap, reading = decoder.push(packet(self.numbered(200 + 670), 0.02 * 870 + 0.03))
        assert (gap.n_lost, gap.restarted) == (2 * 670, False)
        assert reading.device_s[-1] == pytest.approx(0.02 * 870, abs=0.05)

    def test_packets_that_were_held_back_are_no_loss(self):
        decoder = decoder_for(COUNTED_ONLY)
        for k in range(50):
            decoder.push(packet(self.numbered(k), 0.02 * k))
        items = [item for k in range(50, 80) for item in decoder.push(packet(self.numbered(k), 1.6))]
        assert kinds(items) == [Reading] * 30
        assert items[-1].device_s[-1] == pytest.approx(0.02 * 79, abs=0.15)

    def test_a_counter_that_the_arrivals_contradict_began_anew(self):
        decoder = decoder_for(COUNTED_ONLY)
        decoder.push(packet(self.numbered(3), 0.0))
        gap, reading = decoder.push(packet(self.numbered(140), 0.04))  # 137 packets in 40 ms
        assert gap.restarted
        assert len(reading.device_s) == 2


def test_settings_reach_the_decoder():
    slow = load_profile(GSP.text, "x", {"rate_hz": 52.0})
    (reading,) = decoder_for(slow).push(packet(gsp(1000, n=4)))
    assert reading.device_s == pytest.approx(1.0 + np.arange(4) / 52)
    assert kinds(decoder_for(slow).push(packet(gsp(1000)))) == [Malformed]
