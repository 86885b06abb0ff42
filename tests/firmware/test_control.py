"""Writes to the control characteristic: what is taken, what is refused, and that a refusal changes nothing."""

from __future__ import annotations

import itertools
import struct

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sensors.profiles.open_imu import COMMAND_IDENTIFY, COMMAND_START, COMMAND_STOP
from tests.firmware.board import Board
from tests.firmware.fake_imu import FakeImu

UNKNOWN, LENGTH, UNSUPPORTED = 0x80, 0x81, 0x82
GYR = (125, 250, 500, 1000, 2000)
ACC = (2, 4, 8, 16)
RATES = (52, 104, 208, 416)


@pytest.fixture
def board(core):
    made = Board(core, FakeImu())
    made.connect(start=False)
    return made


def told(board) -> tuple[int, int, int, int]:
    return struct.unpack("<BHHB", bytes.fromhex(board.state["told"]))


def test_what_a_reader_that_writes_nothing_gets(board):
    assert told(board) == (1, 208, 2000, 16)


def test_start_needs_notifications_and_the_other_way_round(board):
    assert board.control(COMMAND_START) == 0
    board.run(0.5)
    assert not board.state["running"]
    board.notify(True)
    board.run(0.5)
    assert board.sent
    assert board.control(COMMAND_STOP) == 0
    n_sent = len(board.sent)
    board.run(0.5)
    assert len(board.sent) == n_sent


def test_the_connection_may_be_told_after_what_was_written_over_it(core):
    board = Board(core, FakeImu())
    board.notify(True)
    board.control(COMMAND_START)
    board.run(0.5)
    assert not board.state["running"]
    board.connect(start=False)
    board.run(0.5)
    assert board.sent
    board.disconnect()
    board.connect(start=False)
    n_sent = len(board.sent)
    board.run(0.5)
    assert len(board.sent) == n_sent  # what was written over the one before does not count


@pytest.mark.parametrize(
    ("wanted_hz", "rate_hz"),
    [(200, 208), (198, 208), (218, 208), (100, 104), (50, 52), (400, 416), (416, 416), (197, None), (219, None),
     (0, None), (1, None), (833, None), (65535, None)],
)  # fmt: skip
def test_a_rate_is_taken_if_the_board_has_one_within_a_twentieth(board, wanted_hz, rate_hz):
    answer = board.control(b"\x03" + struct.pack("<H", wanted_hz))
    assert answer == (0 if rate_hz else UNSUPPORTED)
    assert told(board) == (1, rate_hz or 208, 2000, 16)


def test_every_range_and_rate_reaches_the_registers(board):
    board.notify(True)
    board.control(COMMAND_START)
    # Codes of CTRL2_G and CTRL1_XL: data sheet LSM6DS3TR-C, from memory; 2000 deg/s is 11, 16 g is 01.
    for range_deg_s, code in zip(GYR, (0x2, 0x0, 0x4, 0x8, 0xC), strict=True):
        assert board.control(b"\x04" + struct.pack("<H", range_deg_s)) == 0
        board.run(0.1)
        assert board.imu.registers[0x11] & 0xF == code
    for range_g, code in zip(ACC, (0x0, 0x8, 0xC, 0x4), strict=True):
        assert board.control(b"\x05" + bytes([range_g])) == 0
        board.run(0.1)
        assert board.imu.registers[0x10] & 0xF == code
    for rate_hz, code in zip(RATES, (3, 4, 5, 6), strict=True):
        assert board.control(b"\x03" + struct.pack("<H", rate_hz)) == 0
        board.run(0.1)
        assert (board.imu.registers[0x10] >> 4, board.imu.registers[0x11] >> 4) == (code, code)
        assert board.imu.registers[0x0A] == code << 3 | 6


@pytest.mark.parametrize(
    ("value", "answer"),
    [(b"", LENGTH), (b"\x06", UNKNOWN), (b"\xff\x00", UNKNOWN), (b"\x00\x00", LENGTH), (b"\x01\x01", LENGTH),
     (b"\x03", LENGTH), (b"\x03\xd0", LENGTH), (b"\x03\xd0\x00\x00", LENGTH), (b"\x04\xd0", LENGTH),
     (b"\x04\xf5\x00", UNSUPPORTED), (b"\x05", LENGTH), (b"\x05\x03", UNSUPPORTED), (b"\x05\x10\x00", LENGTH)],
)  # fmt: skip
def test_refusals(board, value, answer):
    before = board.state
    assert board.control(value) == answer
    assert board.state == before


def wanted(value: bytes) -> bool:
    """The table of the profile's README."""
    if value in (COMMAND_STOP, COMMAND_START, COMMAND_IDENTIFY):
        return True
    if len(value) == 3 and value[0] == 3:
        (hz,) = struct.unpack("<H", value[1:])
        return any(abs(hz - rate_hz) <= rate_hz / 20 for rate_hz in RATES)
    if len(value) == 3 and value[0] == 4:
        return struct.unpack("<H", value[1:])[0] in GYR
    return len(value) == 2 and value[0] == 5 and value[1] in ACC


VALUES = st.one_of(
    st.binary(max_size=600),
    st.binary(max_size=3).map(lambda rest: b"\x03" + rest),
    st.binary(max_size=3).map(lambda rest: b"\x04" + rest),
    st.binary(max_size=2).map(lambda rest: b"\x05" + rest),
    st.sampled_from([b"\x00", b"\x01", b"\x02", b"\x04\xf4\x01", b"\x05\x08", b"\x03\x68\x00"]),
)


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(values=st.lists(VALUES, max_size=12), notifying=st.booleans())
def test_any_bytes_are_taken_by_the_table_or_change_nothing(core, values, notifying):
    """Run with address and undefined-behaviour sanitizers where the compiler has them; the bytes end where memory does."""
    board = Board(core, FakeImu())
    board.connect(start=False)
    board.notify(notifying)
    for value in values:
        before = board.state
        answer = board.control(value)
        assert (answer == 0) == wanted(value)
        assert answer == 0 or 0x80 <= answer <= 0x9F  # an application's own, Bluetooth Core, from memory
        if answer:
            assert board.state == before


def test_identify_blinks_white_for_three_seconds(board):
    assert board.control(COMMAND_IDENTIFY) == 0
    began_us = board.now_us
    # The loop may have looked at the clock before the radio's task took the command.
    assert not any(int(board.core.ask(f"led {began_us - us} 90")) == 7 for us in range(1, 400_000, 50_000))
    shown = [int(board.core.ask(f"led {began_us + ms * 1000} 90")) for ms in range(0, 3200, 25)]
    assert set(shown[: 3000 // 25]) == {0, 7}
    changes = sum(a != b for a, b in itertools.pairwise(shown[: 3000 // 25]))
    assert changes == 23  # four times a second on and off
    assert 7 not in shown[3000 // 25 :]
