"""The core on a simulated board, read by the project's own decoder: every count, every gap, every time."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sensors.events import SensorInfo
from sensors.ids import Role
from sensors.ingest import Ingest
from sensors.profiles.open_imu import NAME, unpack
from tests.firmware.board import Board
from tests.firmware.fake_imu import FakeImu
from tests.firmware.receiver import SENSOR, check, packets

LATE_US = 300.0
"""The interrupt comes up to this late. Stamps are then within STAMP_US, which is what README.md promises."""
STAMP_US = 500.0
SPACING_US = 1e6 / 208
PER_PACKET = 10


def begin(core, *, rate_error=0.02, phase=0.5, **options) -> Board:
    board = Board(core, FakeImu(rate_error=rate_error, phase=phase), late_us=LATE_US, **options)
    board.connect()
    return board


def sequences(board: Board) -> list[int]:
    return [unpack(payload).sequence for _, payload in board.sent]


@pytest.mark.parametrize("phase", [0.02, 0.5, 0.98])
@pytest.mark.parametrize("rate_error", [-0.08, 0.0, 0.08])
def test_a_quiet_stream_is_complete_and_dated(core, rate_error, phase):
    board = begin(core, rate_error=rate_error, phase=phase)
    board.run(5.0)
    found = check(board)
    n_due = int((5.0 - 0.14) * 208 * (1 + rate_error))
    assert n_due - 2 * PER_PACKET <= found.n_samples <= n_due + PER_PACKET
    assert (found.n_lost, found.n_restarts) == (0, 0)
    assert sequences(board) == list(range(len(board.sent)))
    assert np.abs(found.last_errors_us).max() < STAMP_US
    # The reader knows the true spacing from the second packet on.
    assert np.abs(found.errors_us[PER_PACKET:]).max() < STAMP_US


def test_the_clock_is_zero_where_sampling_began(core):
    board = begin(core, rate_error=0.0)
    board.run(1.0)
    first = unpack(board.sent[0][1])
    assert first.sequence == 0
    # Three packets' worth settle for a tenth of a second and more, then ten; half a spacing is the phase above.
    assert first.clock_us == pytest.approx((30 + 10 - 0.5) * SPACING_US - 3370, abs=STAMP_US)


def test_without_the_interrupt_a_stamp_is_off_by_less_than_a_spacing(core):
    board = begin(core, interrupt=False)
    board.run(10.0)
    found = check(board)
    assert found.n_lost == 0
    assert np.abs(found.last_errors_us).max() < SPACING_US + STAMP_US


@pytest.mark.parametrize(("rate_hz", "per_packet"), [(52, 3), (104, 5), (416, 18)])
def test_other_rates(core, rate_hz, per_packet):
    board = Board(core, FakeImu(rate_error=-0.03), late_us=LATE_US)
    board.connect(start=False)
    assert board.control(b"\x03" + rate_hz.to_bytes(2, "little")) == 0
    board.notify(True)
    board.control(b"\x01")
    board.run(5.0)
    found = check(board, rate_hz=rate_hz)
    assert {len(unpack(payload).counts) for _, payload in board.sent} == {per_packet}
    assert found.n_samples > 4.5 * rate_hz
    assert found.n_lost == 0
    assert np.abs(found.errors_us[per_packet:]).max() < STAMP_US


@pytest.mark.parametrize("blocked_s", [0.1, 1.0, 1.55, 1.7, 2.0, 5.0, 10.0])
def test_a_board_that_is_late_loses_nothing_until_the_fifo_runs_over_and_then_says_so(core, blocked_s):
    board = begin(core)
    for _ in range(4):
        board.run(1.0)
        board.blocked_us = blocked_s * 1e6
        board.run(0.01)
    board.run(1.0)
    found = check(board)
    overruns = 0 if blocked_s * 208 * 1.02 < 341 else 4
    assert (board.imu.n_overruns, board.state["breaks"]) == (overruns, overruns)
    assert (found.n_lost > 0) == (overruns > 0)
    assert found.n_lost % PER_PACKET == 0
    assert np.abs(found.last_errors_us).max() < STAMP_US


def test_a_fifo_that_runs_over_between_the_look_and_the_reading_gives_no_wrong_sample(core):
    """Found by the random test: with 341 samples waiting, the next overwrote the oldest words before they were read."""
    n_over = 0
    for n in range(60):
        board = begin(core, rate_error=0.0)
        board.run(1.0)
        board.blocked_us = 1.59e6 + n * 0.5e3
        board.run(0.01)
        board.run(0.3)
        check(board)
        n_over += board.state["breaks"]
    assert 0 < n_over < 60  # both sides of the edge were tried


def test_a_full_queue_keeps_the_newest_and_counts_the_rest(core):
    board = begin(core)
    board.run(1.0)
    board.jammed = True
    board.run(4.0)
    assert board.state["queued"] == 48
    board.jammed = False
    board.run(1.0)
    found = check(board)
    assert found.n_lost == PER_PACKET * board.state["overflowed"] > 0
    assert board.state["breaks"] == 0


def test_a_beginning_of_which_nothing_could_be_sent_is_given_up(core):
    """Else its first packet to arrive would bear any number, and pass for a continuation of what the reader saw before."""
    board = begin(core)
    board.run(0.5)
    n_before = len(board.sent)
    board.control(b"\x04\xf4\x01")
    board.jammed = True
    board.run(4.0)
    board.jammed = False
    board.run(1.5)
    assert sequences(board)[n_before] == 0
    assert board.state["beginning"] == 3
    assert check(board).n_restarts == 1


@pytest.mark.parametrize("queued_s", [2.2, 2.35, 2.45])
def test_what_is_read_after_it_was_given_up_is_not_sent(core, queued_s):
    """The queue runs full in the middle of a reading of the FIFO, and the radio is free again right after it."""
    board = begin(core)
    board.run(0.5)
    n_before = len(board.sent)
    board.control(b"\x04\xf4\x01")
    board.jammed = True
    board.run(queued_s)
    board.blocked_us = 1e6
    board.run(0.001)
    board.jammed = False
    board.run(3.0)
    assert sequences(board)[n_before] == 0
    assert check(board).n_restarts == 1


def test_a_beginning_that_may_have_died_in_the_radio_is_given_up(core):
    """The link is lost with the first packets of a new beginning still in the radio: the reader never sees them."""
    board = begin(core)
    run_until_sent(board, 3)
    board.control(b"\x05\x10")  # the range that is in force: nothing happens
    board.disconnect()
    board.connect()
    run_until_sent(board, 5)
    board.disconnect()
    board.run(3.0)
    board.connect()
    board.run(3.0)
    found = check(board, packets(board)[:3] + packets(board)[5:])
    assert board.state["beginning"] == 3
    assert found.n_restarts == 1


def run_until_sent(board, n_packets):
    while len(board.sent) < n_packets:
        board.run(0.01)


@pytest.mark.parametrize("how", ["drop", "stop", "unsubscribe"])
def test_a_pause_is_a_counted_gap_and_the_clock_goes_on(core, how):
    board = begin(core)
    board.run(1.0)
    pause(board, how, 7.0)
    board.run(1.0)
    found = check(board)
    assert found.n_restarts == 0
    assert found.n_lost == pytest.approx(7.0 * 208 * 1.02, abs=PER_PACKET)
    assert np.abs(found.last_errors_us).max() < STAMP_US


def test_after_a_minute_unheard_the_imu_is_switched_off_and_a_start_begins_anew(core):
    board = begin(core)
    board.run(1.0)
    pause(board, "stop", 59.0)
    assert board.state["running"]
    board.run(1.0)
    pause(board, "drop", 61.0, and_then=lambda: board.state["running"] or board.imu.spacing_us)
    board.run(1.0)
    found = check(board)
    assert found.n_restarts == 1
    assert sequences(board)[-1] < 30


def pause(board, how, seconds, *, and_then=lambda: False):
    if how == "drop":
        board.disconnect()
    elif how == "stop":
        assert board.control(b"\x00") == 0
    else:
        board.notify(False)
    n_sent = len(board.sent)
    board.run(seconds)
    assert len(board.sent) == n_sent
    assert not and_then()
    if how == "drop":
        board.connect()
    elif how == "stop":
        board.control(b"\x01")
    else:
        board.notify(True)


@pytest.mark.parametrize("n_packets", [0, 1, 2, 5, 9, 15, 16, 40])
def test_a_change_of_range_begins_anew_and_is_never_taken_for_late_packets(core, n_packets):
    board = begin(core)
    for value in (1000, 500, 2000):
        run_until_sent(board, len(board.sent) + n_packets)
        assert board.control(b"\x04" + value.to_bytes(2, "little")) == 0
    board.run(2.0)
    found = check(board)
    assert found.n_restarts == (3 if n_packets else 0)
    assert found.n_lost == 0


def test_what_a_reader_set_ends_with_its_connection(core):
    board = begin(core)
    board.control(b"\x04\xf4\x01")
    board.run(1.0)
    assert board.imu.registers[0x11] >> 2 & 3 == 1  # 500 deg/s
    board.disconnect()
    assert board.state["told"] == "01d000d00710"
    board.connect()
    board.run(1.5)
    assert board.imu.registers[0x11] >> 2 & 3 == 3  # 2000 deg/s
    assert check(board).n_restarts == 1


def test_counters_wrap(core):
    board = begin(core)
    board.run(0.05)
    board.core.ask(f"wrap {65536 - 30} {2**32 - 1_500_000 - 50_000}")
    board.origins_us[1] -= 2**32 - 1_500_000 - 50_000
    board.run(4.0)
    found = check(board)
    clocks_us = [unpack(payload).clock_us for _, payload in board.sent]
    assert sequences(board)[0] == 65536 - 30
    assert sequences(board)[-1] < 100
    assert clocks_us[0] > 2**32 - 2_000_000
    assert clocks_us[-1] < 4_000_000
    assert (found.n_lost, found.n_restarts) == (0, 0)
    assert np.abs(found.last_errors_us).max() < STAMP_US


def test_an_imu_that_browns_out_is_set_up_again(core):
    board = begin(core)
    board.run(2.0)
    board.imu.brown_out()
    board.run(3.0)
    found = check(board)
    assert board.imu.life == 2
    assert 0 < found.n_lost < 208
    assert np.abs(found.last_errors_us).max() < STAMP_US


def test_an_imu_that_does_not_answer_is_shown_and_tried_again(core):
    board = begin(core)
    board.imu.registers[0x0F] = 0x00
    asked_us = []
    read = board.imu.read
    board.imu.read = lambda register, n: asked_us.append(board.imu.now_us) or read(register, n)
    board.run(3.0)
    assert len(asked_us) == 6  # twice a second, or a broken part would be spoken to all the time
    assert (board.state["running"], board.state["fault"]) == (False, True)
    assert board.sent == []
    board.imu.registers[0x0F] = 0x6A
    board.run(2.0)
    assert not board.state["fault"]
    assert check(board).n_samples > 200


ACTIONS = st.one_of(
    st.tuples(st.just("run"), st.floats(0.01, 1.0)),
    st.tuples(st.just("block"), st.floats(0.01, 3.0)),
    st.tuples(st.just("jam"), st.floats(0.05, 2.0)),
    st.tuples(st.just("drop"), st.floats(0.01, 3.0)),
    st.tuples(st.just("stop"), st.floats(0.01, 3.0)),
    st.tuples(st.just("unsubscribe"), st.floats(0.01, 3.0)),
    st.tuples(st.just("range"), st.sampled_from([125, 250, 500, 1000, 2000])),
    st.tuples(st.just("mtu"), st.sampled_from([23, 50, 100, 131, 247])),
    st.tuples(st.just("junk"), st.binary(max_size=5)),
    st.tuples(st.just("bus"), st.integers(1, 6)),
)


def act(board: Board, what: str, value) -> None:
    if what == "run":
        board.run(value)
    elif what == "block":
        board.blocked_us = value * 1e6
        board.run(0.01)
    elif what == "jam":
        board.jammed = True
        board.run(value)
        board.jammed = False
    elif what in ("range", "mtu"):
        if what == "mtu":
            board.mtu(value)
        else:
            assert board.control(b"\x04" + value.to_bytes(2, "little")) == 0
        # A board that is kept from its work before it sent anything, for as long as the beginning before this one lasted, looks
        # as if it had not begun anew: no reader can tell.
        run_until_sent(board, len(board.sent) + 1)
    elif what == "junk":
        if value[:1] > b"\x05" or not value:
            assert board.control(value) != 0
    elif what == "bus":
        board.imu.fails = value
    else:
        pause(board, what, value)


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    actions=st.lists(ACTIONS, min_size=1, max_size=8),
    rate_error=st.floats(-0.08, 0.08),
    phase=st.floats(0.01, 0.99),
    wraps=st.booleans(),
    seed=st.integers(0, 2**16),
)
def test_whatever_happens_every_count_and_gap_is_true(core, actions, rate_error, phase, wraps, seed):
    board = begin(core, rate_error=rate_error, phase=phase, seed=seed)
    if wraps:
        board.run(0.01)
        ahead_us = 2**32 - 4_000_000
        board.core.ask(f"wrap {65536 - 60} {ahead_us}")
        board.origins_us[1] -= ahead_us
    board.run(2.0)  # the part's rate gets known
    for what, value in actions:
        # A beginning at the very moment when both counters wrap looks like the wrap: no reader can tell.
        if not (wraps and what in ("range", "mtu")):
            act(board, what, value)
            board.run(0.6)
    board.run(4.0)
    found = check(board)
    assert found.n_samples > 0
    assert np.abs(found.last_errors_us).max() < STAMP_US


def test_the_whole_way_to_session_time(core):
    """Decoded, put on the session clock and counted by `Ingest`, with a drop and an overrun in it."""
    board = begin(core, rate_error=-0.04)
    board.run(3.0)
    pause(board, "drop", 2.0)
    board.run(3.0)
    board.blocked_us = 2.5e6
    board.run(3.0)
    expected = check(board)
    ingest = Ingest()
    ingest.push(SensorInfo(arrival_ns=0, sensor=SENSOR, role=Role.FOREARM, name="", firmware="", profile=NAME))
    errors_s = []
    for packet in packets(board):
        for item in ingest.push(packet):
            if hasattr(item, "t_s"):
                acc = np.rint(item.acc_sensor_m_s2[-1] / (16 * 9.80665 / 32768)).astype(np.int64)
                true_us = board.imu.times_us[int(acc[2]), int(acc[0] & 0xFFFF | acc[1] << 16)]
                errors_s.append(item.t_s[-1] - true_us * 1e-6)
    (health,) = ingest.health(packets(board)[-1].arrival_ns)
    assert (health.n_samples, health.n_lost) == (expected.n_samples, expected.n_lost)
    # What cannot be seen from stamps alone stays in: the shortest way to the radio, and the low-pass.
    assert np.ptp(errors_s) < 3e-3
