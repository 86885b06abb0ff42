"""Whatever a radio or a board makes of packets: no decoder crashes, gives a sample twice, or a wrong one.

Every sample carries its own number in the gyroscope's place, so that a reading can be held against what was sent. A bit that
changes inside a value cannot be seen by anyone, for the boards send no checksum (the radio's own guards the air): what is
demanded then is a reading of the right shape.
"""

import struct
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sensors.decode.decoder import decoder_for
from sensors.profiles.base import ClockKind, Profile
from sensors.profiles.open_imu import OPEN_IMU, pack
from sensors.profiles.registry import PROFILES
from sensors.readings import Gap, Malformed, Reading
from tests.unit.profile_samples import COUNTED_ONLY, IN_PARTS, PER_SAMPLE, packet

GSP, THINGY = PROFILES["movesense-gsp"], PROFILES["thingy-52"]
RELAXED = settings(deadline=None)
"""No wall-clock limits: the machine may be busy."""

KINDS = {p.name: p for p in (OPEN_IMU, GSP, THINGY, PER_SAMPLE, COUNTED_ONLY, IN_PARTS)}
N_SAMPLES = {"open-imu-1": 10, "movesense-gsp": 8, "thingy-52": 1, "per-sample": 5, "counted-only": 2, "in-parts": 4}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """Packet `k` of a sensor of this kind."""

    profile: Profile
    k: int

    @property
    def numbers(self):
        n = N_SAMPLES[self.profile.name]
        return list(range(self.k * n, self.k * n + n))

    @property
    def arrival_s(self):
        return 1.0 + (self.numbers[-1] + 1) / self.profile.nominal_rate_hz

    @property
    def message(self):
        numbers, ms = self.numbers, lambda number: round(number * 1000 / self.profile.nominal_rate_hz)
        match self.profile.name:
            case "open-imu-1":
                counts = np.array([[number % 1000, 0, 0, 0, 0, 2048] for number in numbers], dtype=np.int16)
                return pack(sequence=self.k, clock_us=5000 * numbers[-1], counts=counts)
            case "movesense-gsp":
                acc = [0.0, 0.0, 9.8] * len(numbers)
                gyr = [value for number in numbers for value in (number % 1000, 0.0, 0.0)]
                return struct.pack(f"<BBI{6 * len(numbers)}f", 2, 0x63, ms(numbers[0]), *acc, *gyr)
            case "thingy-52":
                return struct.pack("<9h", 0, 0, 1024, numbers[0] % 1000, 0, 0, 0, 0, 0)
            case "per-sample":
                rows = [struct.pack(">H6h", ms(n) % 2**16, 0, 0, 2048, 0, n % 1000, 0) for n in numbers]
                return b"\x07" + b"".join(rows)
            case "counted-only":
                rows = [struct.pack("<6h", number % 1000, 0, 0, 0, 0, 2048) for number in numbers]
                return bytes([self.k % 256]) + b"".join(rows)
            case _:
                rows = [struct.pack("<6h", number % 1000, 0, 0, 0, 0, 2048) for number in numbers]
                return struct.pack("<BBH", 1, len(numbers), ms(numbers[-1]) % 2**16) + b"".join(rows)

    def parts(self, size):
        """As notifications: cut to `size` bytes where the profile knows of parts."""
        split, message = self.profile.split, self.message
        if split is None or size >= len(message):
            return [message]
        if self.profile is GSP:
            size = max(size, len(message) - size)  # two parts at most
        first, rest = message[:size], message[size:]
        return [first, *(split.continues + rest[i : i + size] for i in range(0, len(rest), size))]


def numbers_of(reading, profile):
    """The numbers of a reading's samples, from the gyroscope's place."""
    unit = np.radians(1.0) if profile is GSP else profile.gyr.si_per_count
    axis = reading.gyr_sensor_rad_s[:, 0]
    return np.rint(np.abs(axis) / unit).astype(int).tolist()


def assert_sound(items, profile):
    """Right shapes, finite numbers, time that never goes back but at a restart."""
    last_s = -np.inf
    for item in items:
        assert isinstance(item, Reading | Gap | Malformed)
        if isinstance(item, Gap):
            assert item.n_lost >= 0
            if item.restarted:
                last_s = -np.inf
        if isinstance(item, Reading):
            n = len(item.device_s)
            assert n >= 1
            assert item.gyr_sensor_rad_s.shape == item.acc_sensor_m_s2.shape == (n, 3)
            assert np.isfinite(item.gyr_sensor_rad_s).all()
            assert np.isfinite(item.acc_sensor_m_s2).all()
            assert np.abs(item.gyr_sensor_rad_s).max() < 2.01 * max(
                profile.gyr.range_si, 32768 * profile.gyr.si_per_count
            )
            assert (np.diff(item.device_s) > 0.0).all()
            if profile.clock.kind is not ClockKind.PER_PACKET_LAST:
                assert item.device_s[0] > last_s
            last_s = item.device_s[-1]


@pytest.mark.parametrize("name", list(KINDS))
@RELAXED
@given(st.lists(st.tuples(st.binary(max_size=260), st.floats(0.0, 3.0)), max_size=25))
def test_any_bytes(name, sent):
    profile, decoder, at_s, items = KINDS[name], decoder_for(KINDS[name]), 0.0, []
    for payload, wait_s in sent:
        at_s += wait_s
        items += decoder.push(packet(payload, at_s))
    assert_sound(items, profile)


FAULTS = st.one_of(
    st.tuples(st.just("cut"), st.integers(0, 250)),
    st.tuples(st.just("more"), st.integers(1, 60)),
    st.tuples(st.just("twice"), st.just(0)),
    st.tuples(st.just("two"), st.just(0)),
)


@pytest.mark.parametrize("name", list(KINDS))
@RELAXED
@given(FAULTS, st.integers(0, 3))
def test_a_notification_of_the_wrong_length_is_never_a_reading(name, fault, k):
    profile = KINDS[name]
    what, size = fault
    message, following = Sent(profile=profile, k=k).message, Sent(profile=profile, k=k + 1).message
    broken = {
        "cut": message[: size % len(message)], "more": message + bytes(size), "twice": message + message,
        "two": message + following,
    }[what]  # fmt: skip
    items = decoder_for(profile).push(packet(broken, 1.0))
    readings = [item for item in items if isinstance(item, Reading)]
    if (
        profile is PER_SAMPLE
    ):  # as many samples as fit: what is whole must be right, up to the length that the profile allows
        assert all(
            numbers_of(one, profile)[0] in {*Sent(profile=profile, k=k).numbers, 0} or what != "cut" for one in readings
        )
    else:
        assert not readings


@pytest.mark.parametrize("name", list(KINDS))
@RELAXED
@given(st.integers(0, 200), st.lists(st.integers(0, 10**6), min_size=1, max_size=4))
def test_flipped_bits_never_crash_nor_change_the_shape(name, k, bits):
    profile = KINDS[name]
    decoder = decoder_for(profile)
    items = list(decoder.push(packet(Sent(profile=profile, k=k).message, 1.0)))
    broken = bytearray(Sent(profile=profile, k=k + 1).message)
    for bit in bits:
        broken[bit // 8 % len(broken)] ^= 1 << bit % 8
    items += decoder.push(packet(bytes(broken), 1.05))
    items += decoder.push(packet(Sent(profile=profile, k=k + 2).message, 1.1))
    assert_sound(items, profile)
    assert all(len(one.device_s) <= profile.layout.most_samples for one in items if isinstance(one, Reading))


@pytest.mark.parametrize("name", list(KINDS))
def test_byte_by_byte_is_refused_and_leaves_the_next_whole_one_alone(name):
    profile = KINDS[name]
    decoder = decoder_for(profile)
    for byte in Sent(profile=profile, k=0).message:
        items = decoder.push(packet(bytes([byte]), 1.0))
        assert not [item for item in items if isinstance(item, Reading)]
    items = decoder.push(packet(Sent(profile=profile, k=1).message, Sent(profile=profile, k=1).arrival_s))
    (reading,) = [item for item in items if isinstance(item, Reading)]
    assert numbers_of(reading, profile) == Sent(profile=profile, k=1).numbers


@pytest.mark.parametrize("size", [1, 2, 3, 7, 30, 51])
def test_a_message_in_parts_of_any_size_is_the_whole_one(size):
    sent = Sent(profile=IN_PARTS, k=3)
    decoder = decoder_for(IN_PARTS)
    parts = sent.parts(size)
    assert len(parts) == -(-len(sent.message) // size)
    items = [item for part in parts for item in decoder.push(packet(part, 1.0))]
    (whole,) = decoder_for(IN_PARTS).push(packet(sent.message, 1.0))
    (reading,) = items
    assert np.array_equal(reading.gyr_sensor_rad_s, whole.gyr_sensor_rad_s)
    assert np.array_equal(reading.device_s, whole.device_s)


JUNK = st.binary(max_size=12)  # shorter than any notification of these kinds


@pytest.mark.parametrize("name", list(KINDS))
@RELAXED
@given(
    st.lists(st.tuples(st.lists(JUNK, max_size=2), st.booleans()), min_size=1, max_size=12), st.sampled_from([158, 400])
)
def test_junk_between_changes_no_reading(name, plan, size):
    profile = KINDS[name]
    with_junk, without = decoder_for(profile), decoder_for(profile)
    got, expected = [], []
    for k, (junk, lost) in enumerate(plan):
        sent = Sent(profile=profile, k=k)
        for payload in junk:
            got += with_junk.push(packet(payload, sent.arrival_s))
        if lost:
            continue
        for part in sent.parts(size):
            got += with_junk.push(packet(part, sent.arrival_s))
            expected += without.push(packet(part, sent.arrival_s))
    assert flat(got) == flat(expected)


def flat(items):
    return [
        (item.n_lost, item.restarted)
        if isinstance(item, Gap)
        else (item.device_s.tolist(), item.gyr_sensor_rad_s.tolist(), item.saturated)
        for item in items
        if not isinstance(item, Malformed)
    ]


STEPS = st.lists(st.one_of(st.integers(1, 6), st.integers(-6, 0)), min_size=1, max_size=60)


@pytest.mark.parametrize("name", ["open-imu-1", "movesense-gsp", "per-sample", "counted-only", "in-parts"])
@RELAXED
@given(STEPS, st.sampled_from([158, 400]))
def test_what_is_lost_doubled_or_late_makes_no_wrong_sample_and_every_loss_is_counted(name, steps, size):
    """With a counter or a clock every sample can be accounted for: taken once, in order, at its time, or counted as lost."""
    profile = KINDS[name]
    decoder, newest = decoder_for(profile), 20
    items = []
    highest_s = 0.0
    for step in [0, *steps]:
        k = newest + step
        sent = Sent(profile=profile, k=k)
        highest_s = max(highest_s, sent.arrival_s)
        for part in sent.parts(size):
            items += decoder.push(packet(part, highest_s))
        newest = max(newest, k)
    assert_sound(items, profile)
    per_packet = N_SAMPLES[name]
    taken, n_lost, times = [], 0, []
    for item in items:
        if isinstance(item, Gap):
            assert not item.restarted
            n_lost += item.n_lost
        elif isinstance(item, Reading):
            first = 20 * per_packet if not taken else taken[-1] + 1
            numbers = [first + (number - first) % 1000 for number in numbers_of(item, profile)]
            taken += numbers
            times += item.device_s.tolist()
    assert taken == sorted(set(taken))
    assert taken[-1] == newest * per_packet + per_packet - 1
    assert len(taken) + n_lost == taken[-1] - taken[0] + 1
    if profile.clock.kind is not ClockKind.NONE:
        true_s = np.array(taken) / profile.nominal_rate_hz
        drift = np.array(times) - true_s
        assert np.abs(drift - drift[0]).max() < 2.1 * max(profile.clock.tick_s, 1e-6)
