from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from record_samples import introductions, packet, packets

from sensors.events import ClockJump, ClockJumpCause
from sensors.ingest import Ingest
from sensors.record.reader import read_events, read_head
from sensors.record.writer import Recorder
from sensors.sources.clock_watch import ClockWatch, sleepless_clock
from server.advice import clock_advice

S = 1_000_000_000


class Clocks:
    """Steady, wall, and one that runs on in sleep."""

    def __init__(self):
        self.steady, self.wall, self.sleepless = 50 * S, 1_790_000_000 * S, 70 * S

    def run(self, seconds, *, asleep_s=0.0, set_s=0.0):
        self.steady += int(seconds * S)
        self.sleepless += int((seconds + asleep_s) * S)
        self.wall += int((seconds + asleep_s + set_s) * S)

    def watch(self, *, sleepless=True):
        return ClockWatch(
            steady_ns=lambda: self.steady,
            wall_ns=lambda: self.wall,
            sleepless_ns=(lambda: self.sleepless) if sleepless else (lambda: self.steady),
        )


@pytest.fixture
def clocks():
    return Clocks()


def test_clocks_that_run_on_and_a_time_server_are_no_news(clocks):
    watch = clocks.watch()
    for _ in range(1000):
        clocks.run(0.5, set_s=0.01)
        assert watch.look() == ()


def test_a_clock_that_is_set_is_told_once(clocks):
    watch = clocks.watch()
    clocks.run(0.5, set_s=-7200.0)
    (jump,) = watch.look()
    assert jump == ClockJump(arrival_ns=clocks.steady, cause=ClockJumpCause.SET, seconds=pytest.approx(-7200.0))
    clocks.run(0.5)
    assert watch.look() == ()


def test_sleep_is_told_from_a_clock_that_was_set(clocks):
    watch = clocks.watch()
    clocks.run(0.5, asleep_s=600.0)
    (jump,) = watch.look()
    assert (jump.cause, jump.seconds) == (ClockJumpCause.SLEEP, pytest.approx(600.0))
    clocks.run(0.5, asleep_s=60.0, set_s=3600.0)
    assert {jump.cause: round(jump.seconds) for jump in watch.look()} == {"sleep": 60, "set": 3600}


def test_this_machine_has_not_slept_just_now():
    assert ClockWatch().look() == ()
    clock = sleepless_clock()
    assert clock is None or clock() > 0


def test_the_sentences():
    def told(cause, seconds):
        return clock_advice(ClockJump(arrival_ns=0, cause=cause, seconds=seconds))

    assert "slept for 10 min" in told(ClockJumpCause.SLEEP, 600.0)
    assert "set back by 2 h 5 min" in told(ClockJumpCause.SET, -7500.0)
    assert "set forward by 45 s" in told(ClockJumpCause.SET, 45.0)


def test_a_recording_keeps_the_time_of_day_it_began_with(tmp_path):
    """The wall clock is asked once: a jump by hours in the middle moves no stamp, neither ours nor those of other tools."""
    wall = [1_790_000_000 * S]
    jump = ClockJump(arrival_ns=packets(5.0)[-1].arrival_ns, cause=ClockJumpCause.SET, seconds=-10_000.0)
    events = [*introductions(), *packets(5.0), jump]
    with Recorder(tmp_path / "a.mcap", wall_clock_ns=lambda: wall[0]) as recorder:
        for event in events:
            recorder.write(event)
            wall[0] -= 10_000 * S
    assert list(read_events(tmp_path / "a.mcap")) == events
    assert read_head(tmp_path / "a.mcap").wall_start_ns == 1_790_000_000 * S


def test_after_sleep_a_sensors_clock_is_learnt_anew():
    """The sensor's clock ran on for half a minute, the computer's stood still: without that, its next samples lie there."""
    blocks = {}
    for told in (True, False):
        ingest = Ingest()
        for event in [*introductions(), *packets(30.0)]:
            ingest.push(event)
        n = 600 + 600  # the packets of half a minute were sent to nobody; of much longer it is taken for a restart
        last_ns = packets(30.0)[-1].arrival_ns
        if told:
            ingest.push(ClockJump(arrival_ns=last_ns, cause=ClockJumpCause.SLEEP, seconds=30.0))
        for i in range(40):
            late = packet(introductions()[1].sensor, n + i, last_ns + (i + 1) * 50_000_000)
            out = ingest.push(replace(late))
        blocks[told] = out[-1]
        end_s = ingest.session_s(late.arrival_ns)
        if told:
            assert np.abs(out[-1].t_s[-1] - end_s) < 0.02
    assert blocks[True].t_s[-1] != blocks[False].t_s[-1]
