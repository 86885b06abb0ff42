"""A sensor of any kind that a profile can describe is read rightly: every number, axis and time, and what was lost."""

from __future__ import annotations

import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sensors.decode.decoder import decoder_for
from sensors.profiles.load import load_profile
from sensors.readings import Gap, Malformed, Reading
from tests.property.any_profile import RATE_HZ, Made, made
from tests.unit.profile_samples import packet

KNOWN = 4
"""Packets after which a rate is known well enough to miss a single sample among twelve."""
SENT = st.lists(st.sampled_from(["sent", "sent", "sent", "lost", "twice", "junk"]), min_size=3, max_size=12)


def rows_of(one: Made, n: int, rng: random.Random) -> list[dict[str, list[int]]]:
    """Any numbers, the ends of the range among them."""

    def number(field):
        low, high = one.ends(field)
        return rng.choice([low, low + 1, -1, 0, high - 1, high]) if rng.random() < 0.05 else rng.randint(low, high)

    return [{field: [number(field) for _ in range(3)] for field in ("gyr", "acc")} for _ in range(n)]


def exact(value: int, number_type: str) -> float:
    """What a float makes of a whole number."""
    return float(np.float32(value)) if number_type == "f32" else float(value)


@settings(deadline=None, max_examples=80)
@given(one=made(), plan=SENT, part_bytes=st.integers(2, 40), seed=st.integers(0, 2**16))
def test_every_number_axis_time_and_loss(one, plan, part_bytes, seed):
    profile = load_profile(one.toml, "made.toml")
    decoder, items, truth, first = decoder_for(profile), [], {}, 0
    rng, sent_last = random.Random(seed), -1
    for k, what in enumerate([*["sent"] * KNOWN, *plan, "sent"]):
        # Counters count packets: how many samples a lost one held, only those of one size tell.
        n = (
            one.n
            if one.count == "fixed" or one.sequence or one.clock == "none"
            else 12
            if k < KNOWN
            else rng.randint(1, 12)
        )
        rows = rows_of(one, n, rng)
        truth.update({first + i: row for i, row in enumerate(rows)})
        message = one.message(k, first, rows)
        first += n
        if what == "lost":
            continue
        notifications = [message]
        if one.split:
            size = max(part_bytes, len(message) // 200 + 1)  # a profile says how many parts there may be
            rest = [message[i : i + size] for i in range(size, len(message), size)]
            notifications = [message[:size], *(b"\x02" + part for part in rest)]
        at_s = first / RATE_HZ
        if what == "junk":
            junk = b"\x03" + rng.randbytes(rng.randint(0, 40))
            assert {type(item) for item in decoder.push(packet(junk, at_s))} <= {Malformed}
        for _ in range(1 + (what == "twice" and profile.shows_loss)):
            for notification in notifications:
                items += decoder.push(packet(notification, at_s))
        sent_last = first - 1
    compare(one, profile, items, truth, sent_last)


def compare(one, profile, items, truth, sent_last):
    taken, number = [], 0
    for item in items:
        if isinstance(item, Gap):
            assert not item.restarted
            number += item.n_lost if profile.shows_loss else 0
            continue
        if isinstance(item, Malformed):  # junk that the beginning of a message put an end to
            continue
        assert isinstance(item, Reading)
        n = len(item.device_s)
        if not profile.shows_loss:  # nothing tells where it belongs: the next that has the same numbers
            while not same(one, truth[number], item, 0):
                number += 1
        numbers = range(number, number + n)
        for i, at in enumerate(numbers):
            assert same(one, truth[at], item, i), (at, truth[at], item)
        ends = one.ends("gyr")
        assert item.saturated == any(
            not ends[0] < exact(raw, one.types["gyr"]) < ends[1] for at in numbers for raw in truth[at]["gyr"]
        )
        if one.clock != "none":
            true_s = 5.0 + np.array(numbers) / RATE_HZ
            wrap_s = profile.clock.modulus * profile.clock.tick_s
            drift_s = (item.device_s - true_s + wrap_s / 2) % wrap_s - wrap_s / 2
            # Twelve samples after a stamp are placed by a spacing that may have been measured over one, to a tick.
            ticks = 14.1 if one.clock == "per_packet_first" else 2.1
            assert np.abs(drift_s).max() < ticks * profile.clock.tick_s + 1e-9
        taken += numbers
        number += n
    assert taken == sorted(set(taken))
    assert taken[-1] == sent_last


def same(one, row, item, i) -> bool:
    """Whether a reading's sample is the one that was packed."""
    for field, si in (("gyr", item.gyr_sensor_rad_s), ("acc", item.acc_sensor_m_s2)):
        raw = [exact(value, one.types[field]) for value in row[field]]
        if si[i].tolist() != pytest.approx(one.si(field, raw), rel=1e-12, abs=1e-300):
            return False
    return True
