"""The small parts of the core: scale, clock, FIFO status, battery, light, identifiers."""

from __future__ import annotations

import re
import struct
import uuid

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sensors.profiles import open_imu
from tests.firmware.board import Board
from tests.firmware.compiler import CORE
from tests.firmware.fake_imu import FakeImu
from tests.firmware.receiver import COUNTS_PER_RAW

QUICK = settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
RED, GREEN, BLUE = 1, 2, 4


@QUICK
@given(raw=st.integers(-32768, 32767))
def test_rates_are_in_the_profiles_counts(core, raw):
    assert int(core.ask(f"gyr {raw}")) == min(max(round(raw * COUNTS_PER_RAW), -32768), 32767)


def test_two_thousand_degrees_a_second_is_the_end_of_the_scale(core):
    """70 mdeg/s a count (data sheet, from memory): 28 571 counts, and what lies beyond is told as saturated."""
    assert [int(core.ask(f"gyr {raw}")) for raw in (28571, 32767, -28571, -32768)] == [32767, 32767, -32768, -32768]


@QUICK
@given(steps=st.lists(st.integers(0, 2**24 - 1), min_size=1, max_size=50))
def test_the_clock_counts_on_over_the_wraps_of_its_counter(core, steps):
    core.ask("init")
    ticks = 0
    for step in steps:
        ticks += step
        assert int(core.ask(f"clock {ticks % 2**24}")) == ticks * 1_000_000 // 32768


@QUICK
@given(now=st.integers(2**23, 2**40), off=st.integers(-(2**23) + 1, 2**23 - 1))
def test_a_moment_that_an_interrupt_took_is_placed_before_or_after(core, now, off):
    core.ask("init")
    for ticks in range(0, 2**24 * 3, 2**24 - 1):
        core.ask(f"clock {ticks % 2**24}")
    base = 2**24 * 3 // (2**24 - 1) * (2**24 - 1)
    now = base + now % 2**24
    core.ask(f"clock {now % 2**24}")
    assert int(core.ask(f"clock_at {(now + off) % 2**24}")) == (now + off) * 1_000_000 // 32768


@pytest.mark.parametrize(
    ("status", "broken", "n_samples"),
    [
        ("00100000", False, 0),  # empty
        ("3c000000", False, 10),  # 60 words, the next is the gyroscope's x
        ("3f800000", False, 10),  # half a sample more, and the threshold passed
        ("f8070000", False, 340),  # 2040 words
        ("fe070000", True, 0),  # 2046 words: no room for another sample while these are read
        ("00400000", True, 0),  # full, which counts 0
        ("3c400000", True, 0),  # ran over
        ("3c000100", True, 0),  # the next word is the gyroscope's y
        ("3c000300", True, 0),  # an accelerometer's x first
        ("3c000003", True, 0),  # no such pattern
    ],
)
def test_fifo_status(core, status, broken, n_samples):
    """Bits and pattern as in the data sheet (see fake_imu.py), from memory."""
    assert core.ask(f"fifo {status}") == f"{int(broken)} {n_samples}"


@QUICK
@given(status=st.binary(min_size=4, max_size=4))
def test_no_fifo_status_is_believed_that_is_out_of_step(core, status):
    n_words = status[0] | (status[1] & 7) << 8
    pattern = status[2] | (status[3] & 3) << 8
    broken = bool(status[1] & 0x40 or n_words + 6 > 2048 or (n_words and pattern))
    assert core.ask(f"fifo {status.hex()}") == f"{int(broken)} {0 if broken else n_words // 6}"


def test_battery_runs_from_full_to_empty_and_never_back(core):
    pcts = [int(core.ask(f"cell {mv}").split()[0]) for mv in range(3000, 4400, 5)]
    assert (pcts[0], pcts[-1]) == (0, 100)
    assert pcts == sorted(pcts)
    assert 40 <= pcts[(3790 - 3000) // 5] <= 60  # the plateau; common practice, no source


def test_a_battery_figure_does_not_dance(core):
    core.ask("init")
    shown = [int(core.ask(f"cell {3800 + (-12, 9, -5, 14)[i % 4]}").split()[1]) for i in range(100)]
    assert len(set(shown[60:])) == 1
    settled = [int(core.ask("cell 3500").split()[1]) for _ in range(200)][-1]
    assert abs(settled - 5) <= 2


def test_light(core):
    board = Board(core, FakeImu())

    def seen(battery_pct=80):
        board.run(0.2)
        return {int(core.ask(f"led {10_000_000 + ms * 1000} {battery_pct}")) for ms in range(0, 2000, 10)} - {0}

    assert seen() == {BLUE}
    assert seen(5) == {BLUE, RED}
    board.connect(start=False)
    assert seen() == {BLUE | GREEN}
    board.notify(True)
    board.control(b"\x01")
    assert seen() == {GREEN}
    board.imu.fails = 10**6
    assert seen() == {RED}


def test_identifiers_and_numbers_are_the_profiles():
    text = (CORE / "pb_profile.c").read_text()
    pattern = re.search(r"\{(0x60.*?)\}", text)
    assert pattern
    for member, expected in ((1, open_imu.SERVICE_UUID), (2, open_imu.DATA_UUID), (3, open_imu.CONTROL_UUID)):
        octets = bytes(int(word, 16) for word in pattern[1].replace("(member)", hex(member)).split(","))
        assert uuid.UUID(bytes=octets[::-1]) == uuid.UUID(expected)
        assert f"UUID(0x{member:02x})" in text
    numbers = dict(re.findall(r"#define (PB_\w+) (\d+)u", (CORE / "pb_profile.h").read_text()))
    assert int(numbers["PB_VERSION"]) == open_imu.VERSION
    assert int(numbers["PB_MAX_SAMPLES"]) == open_imu.MAX_SAMPLES
    assert int(numbers["PB_INTERVAL_MIN_1_25_MS"]) * 1.25 == 15
    assert int(numbers["PB_INTERVAL_MAX_1_25_MS"]) * 1.25 == 30
    assert int(numbers["PB_ATT_MTU"]) - 3 >= 8 + 12 * open_imu.MAX_SAMPLES


def test_a_packet_is_byte_for_byte_the_projects_own(core):
    board = Board(core, FakeImu())
    board.connect()
    board.run(1.0)
    for _, payload in board.sent:
        unpacked = open_imu.unpack(payload)
        assert payload == open_imu.pack(sequence=unpacked.sequence, clock_us=unpacked.clock_us, counts=unpacked.counts)
        assert struct.unpack_from("<BB", payload) == (1, 10)
