"""Connections that hold less in a notification than the board would like: smaller packets, and the same truth."""

from __future__ import annotations

import numpy as np
import pytest

from sensors.profiles.open_imu import unpack
from tests.firmware.board import Board
from tests.firmware.fake_imu import FakeImu
from tests.firmware.receiver import check

STAMP_US = 500.0
"""As in `test_stream.py`."""


def begin(core, mtu, *, rate_hz=208) -> Board:
    board = Board(core, FakeImu(rate_error=0.02))
    board.connect(start=False, mtu=mtu)
    if rate_hz != 208:
        assert board.control(b"\x03" + rate_hz.to_bytes(2, "little")) == 0
    board.notify(True)
    assert board.control(b"\x01") == 0
    return board


def sizes(board, since=0):
    return {len(unpack(payload).counts) for _, payload in board.sent[since:]}


@pytest.mark.parametrize(
    ("rate_hz", "mtu", "n"),
    # A notification holds ATT_MTU - 3 bytes (Bluetooth Core, vol. 3 part F 3.4.7.1), a packet 8 and 12 for each sample.
    [(208, 23, 1), (208, 34, 1), (208, 35, 2), (208, 70, 2), (208, 71, 5), (208, 130, 5), (208, 131, 10), (208, 517, 10),
     (52, 46, 1), (52, 47, 3), (104, 23, 1), (104, 71, 5), (416, 185, 9), (416, 247, 18)],
)  # fmt: skip
def test_packets_are_as_large_as_the_connection_holds(core, rate_hz, mtu, n):
    board = begin(core, mtu, rate_hz=rate_hz)
    board.run(3.0)
    found = check(board, rate_hz=rate_hz)
    assert sizes(board) == {n}
    assert max(len(payload) for _, payload in board.sent) <= mtu - 3
    assert (found.n_lost, found.n_restarts) == (0, 0)
    assert found.n_samples > 2.6 * rate_hz
    assert np.abs(found.last_errors_us).max() < STAMP_US


def test_one_that_grows_while_it_streams_begins_anew(core):
    board = begin(core, 23)
    board.run(2.0)
    n_small = len(board.sent)
    board.mtu(247)
    board.run(2.0)
    assert (sizes(board), sizes(board, n_small)) == ({1, 10}, {10})
    assert unpack(board.sent[n_small][1]).sequence == 0
    assert check(board).n_restarts == 1
    board.mtu(300)  # nothing more comes of it
    board.run(1.0)
    assert check(board).n_restarts == 1


def test_one_that_is_agreed_on_before_the_stream_costs_nothing(core):
    """Every connection begins with 23, and a reader that comes back within a minute keeps its clock."""
    board = begin(core, 247)
    board.run(2.0)
    board.disconnect()
    board.run(3.0)
    board.connect()
    board.run(2.0)
    found = check(board)
    assert found.n_restarts == 0
    assert found.n_lost > 3.0 * 208
    board.disconnect()
    board.connect(mtu=100)
    board.run(2.0)
    found = check(board)
    assert found.n_restarts == 1
    assert sizes(board) == {5, 10}
    n_sent = len(board.sent)
    board.disconnect()
    board.core.ask(f"connected {board.now_us}")  # and nothing is said of its ATT_MTU
    board.notify(True)
    board.control(b"\x01")
    board.run(1.0)
    assert sizes(board, n_sent) == {1}
