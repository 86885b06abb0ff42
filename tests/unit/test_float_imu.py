"""The float profile and its decoder: what is kept, what a hole, a step back and a held rate become."""

import struct

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from sensors.decode.decoder import Decoder, decoder_for
from sensors.decode.timed import TimedDecoder
from sensors.errors import DecodeError, UnknownProfile
from sensors.events import RawPacket
from sensors.ids import SensorId
from sensors.profiles.float_imu import LARGEST, MAX_SAMPLES, name_with_rate, pack, unpack
from sensors.profiles.open_imu import OPEN_IMU
from sensors.profiles.registry import profile_named
from sensors.readings import Gap, Malformed, Reading

SENSOR = SensorId("a")
PROFILE = profile_named("float-imu-1@200.000")


def payload(device_s, gyr=None, acc=None):
    device_s = np.asarray(device_s, dtype=float)
    n = len(device_s)
    gyr = np.zeros((n, 3)) if gyr is None else np.asarray(gyr, dtype=float)
    acc = np.tile([0.0, 0.0, 9.8], (n, 1)) if acc is None else np.asarray(acc, dtype=float)
    return pack(device_s=device_s, gyr_rad_s=gyr, acc_m_s2=acc)


def packet(*words, arrival_ns=0, **values):
    return RawPacket(arrival_ns=arrival_ns, sensor=SENSOR, payload=payload(*words, **values))


def decoded(*packets):
    decoder = decoder_for(PROFILE)
    return [item for one in packets for item in decoder.push(one)]


def test_the_name_carries_the_rate():
    assert profile_named(name_with_rate(198.5349)).nominal_rate_hz == 198.535
    assert isinstance(decoder_for(PROFILE), TimedDecoder)
    assert isinstance(decoder_for(OPEN_IMU), Decoder)
    for name in ("float-imu-1", "float-imu-1@", "float-imu-1@0.000", "float-imu-1@1e3", "float-imu-2@200.000"):
        with pytest.raises(UnknownProfile):
            profile_named(name)


def test_the_bytes_are_as_the_specification_says():
    """Against the standard library's struct, from the table in sensors/profiles/README.md."""
    sample = struct.pack("<d6f", 12.25, 0.5, -0.25, 1.0, 2.0, 3.0, 9.75)
    by_hand = struct.pack("<BB6x", 1, 1) + sample
    assert payload([12.25], [[0.5, -0.25, 1.0]], [[2.0, 3.0, 9.75]]) == by_hand


@given(hnp.arrays(np.int16, (20, 6)), st.sampled_from([250.0, 2000.0, 4000.0]), st.sampled_from([2.0, 16.0, 32.0]))
def test_nothing_of_16_bit_data_is_lost(counts, gyr_deg_s, acc_g):
    gyr_scale, acc_scale = np.radians(gyr_deg_s) / 32768, acc_g * 9.80665 / 32768
    got = unpack(payload(np.arange(20) / 200, counts[:, :3] * gyr_scale, counts[:, 3:] * acc_scale))
    assert np.array_equal(np.rint(got.gyr_rad_s / gyr_scale), counts[:, :3])
    assert np.array_equal(np.rint(got.acc_m_s2 / acc_scale), counts[:, 3:])


def test_device_time_is_kept_to_the_last_bit_on_any_epoch():
    device_s = 1_790_000_000.123456 + np.arange(5) / 200
    assert np.array_equal(unpack(payload(device_s)).device_s, device_s)


@pytest.mark.parametrize(
    ("data", "problem"),
    [
        (b"", "shorter"),
        (b"\x02" + payload([0.0])[1:], "version 2"),
        (b"\x01\x00" + payload([0.0])[2:], "0 samples"),
        (b"\x01\x41" + bytes(6 + 65 * 32), "65 samples"),
        (payload([0.0]) + b"x", "length"),
        (payload([np.nan]), "finite"),
        (payload([-1e308, 1e308]), "far beyond"),
        (payload([0.0], [[np.inf, 0, 0]]), "finite"),
        (payload([0.0], acc=[[0, np.nan, 0]]), "finite"),
    ],
)
def test_what_does_not_fit_is_malformed(data, problem):
    with pytest.raises(DecodeError, match=problem):
        unpack(data)
    (item,) = decoded(RawPacket(arrival_ns=3, sensor=SENSOR, payload=data))
    assert isinstance(item, Malformed)
    assert problem in item.problem


@given(st.lists(st.lists(st.floats() | st.floats(-1e3, 1e3), min_size=1, max_size=5), max_size=6))
def test_any_times_at_all_make_finite_readings_in_order(packets_s):
    last_s = -np.inf
    for item in decoded(*(packet(times_s) for times_s in packets_s)):
        if isinstance(item, Gap):
            last_s = -np.inf if item.restarted else last_s
            assert item.n_lost <= 2 * 200 * LARGEST
        if isinstance(item, Reading):
            assert np.all(np.diff(item.device_s, prepend=last_s) > 0.0)
            last_s = item.device_s[-1]


def test_a_hole_shows_as_a_step_of_time_within_and_between_packets():
    first, gap, second = decoded(packet([0.0, 0.005, 0.010, 0.030, 0.035], arrival_ns=7))
    assert (type(first), type(gap), type(second)) == (Reading, Gap, Reading)
    assert (gap.n_lost, gap.restarted, gap.arrival_ns) == (3, False, 7)
    assert second.device_s.tolist() == [0.030, 0.035]
    _, gap, _ = decoded(packet([0.0, 0.005]), packet([0.0127]))
    assert gap.n_lost == 1
    assert len(decoded(packet([0.0, 0.005]), packet([0.0124]))) == 2  # 1.48 spacings: jitter, not a hole


def test_a_step_back_is_a_restart():
    before, gap, after = decoded(packet([5.0, 5.005]), packet([0.0, 0.005]))
    assert (gap.n_lost, gap.restarted) == (0, True)
    assert (before.device_s[-1], after.device_s[0]) == (5.005, 0.0)


def test_a_sample_that_comes_again_is_dropped_and_counted():
    decoder = decoder_for(PROFILE)
    decoder.push(packet([0.0, 0.005]))
    assert decoder.push(packet([0.005])) == ()
    (reading,) = decoder.push(packet([0.005, 0.010]))
    assert reading.device_s.tolist() == [0.010]
    assert decoder.n_duplicates == 2


@pytest.mark.parametrize("scale_deg_s", [250.0, 500.0, 1000.0, 2000.0])
@pytest.mark.parametrize("sign", [-1, 1])
def test_a_rate_held_at_the_end_of_a_range_is_saturated(scale_deg_s, sign):
    true_deg_s = sign * 1.3 * scale_deg_s * np.sin(np.linspace(0, np.pi, 40))
    rates = np.zeros((40, 3))
    rates[:, 1] = np.radians(np.clip(true_deg_s, -scale_deg_s, scale_deg_s * 32767 / 32768))
    (reading,) = decoded(packet(np.arange(40) / 200, rates))
    assert reading.saturated
    free = rates.copy()
    free[:, 1] = np.radians(true_deg_s)
    (reading,) = decoded(packet(np.arange(40) / 200, free))
    assert not reading.saturated


def test_passing_through_an_end_of_range_is_not_saturation():
    rates = np.zeros((4, 3))
    rates[:, 0] = np.radians([480.0, 499.9, 500.0, 520.0])
    assert not decoded(packet(np.arange(4) / 200, rates))[0].saturated
    rates[:, 0] = np.radians([600.0, 500.0, 500.0, 400.0])  # has been beyond 500: no end of range
    assert not decoded(packet(np.arange(4) / 200, rates))[0].saturated


SIZES = st.lists(st.integers(1, MAX_SAMPLES), min_size=1, max_size=40)
STEPS = st.lists(st.sampled_from([0.005, 0.0049, 0.0051, 0.03, 0.0, -3.0]), min_size=1, max_size=200)


@given(STEPS, SIZES, st.data())
def test_grouping_changes_nothing(steps, sizes, data):
    device_s = np.cumsum([100.0, *steps])
    n = len(device_s)
    levels = st.sampled_from([0.0, 100.0, 500.0, 2000.0, -2000.0])
    rates = np.radians(data.draw(st.lists(st.tuples(levels, levels, levels), min_size=n, max_size=n)))
    one_by_one = decoded(*(packet(device_s[i : i + 1], rates[i : i + 1]) for i in range(n)))
    grouped, start = [], 0
    for size in [*sizes, *([MAX_SAMPLES] * n)]:
        if start < n:
            grouped.append(packet(device_s[start : start + size], rates[start : start + size]))
        start += size
    assert flat(decoded(*grouped)) == flat(one_by_one)


def flat(items):
    """Samples and gaps in order, whatever reading they came in; saturation by where it first shows."""
    out, saturated = [], False
    for item in items:
        if isinstance(item, Gap):
            out.append(("gap", item.n_lost, item.restarted))
        else:
            out.extend(zip(item.device_s.tolist(), item.gyr_sensor_rad_s.tolist(), strict=True))
            saturated |= item.saturated
    return out, saturated
