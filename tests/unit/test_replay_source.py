from __future__ import annotations

import asyncio
import itertools

import pytest
from record_samples import CLUB, FOREARM, practice

from sensors.errors import NotARecording
from sensors.events import LinkChange, LinkReason, LinkState, MoveStart
from sensors.record.writer import Recorder
from sensors.sources.base import Source
from sensors.sources.replay import ReplaySource

EVENTS = practice(10.0)


@pytest.fixture(scope="module")
def recording(tmp_path_factory):
    path = tmp_path_factory.mktemp("replay") / "a.mcap"
    with Recorder(path) as recorder:
        for event in EVENTS:
            recorder.write(event)
    return path


class FakeTime:
    """A clock that moves only by sleeping, each sleep a little longer than asked."""

    def __init__(self, oversleep_s=0.0):
        self.now_s = 100.0
        self.oversleep_s = oversleep_s
        self.sleeps = []

    def clock_s(self):
        return self.now_s

    async def sleep(self, seconds):
        self.sleeps.append(seconds)
        self.now_s += seconds + (self.oversleep_s if seconds else 0.0)


async def play(recording, speed, time):
    source: Source = ReplaySource(recording, speed=speed, clock_s=time.clock_s, sleep=time.sleep)
    async with source:
        return [(time.now_s - 100.0, event) async for event in source]


async def test_events_are_the_recorded_ones_then_each_sensor_stops(recording):
    events = [event for _, event in await play(recording, 0.0, FakeTime())]
    assert events[: len(EVENTS)] == EVENTS
    end_ns = EVENTS[-1].arrival_ns
    assert events[len(EVENTS) :] == [
        LinkChange(arrival_ns=end_ns, sensor=s, state=LinkState.STOPPED, reason=LinkReason.END_OF_RECORDING)
        for s in (FOREARM, CLUB)
    ]


@pytest.mark.parametrize("speed", [0.5, 1.0, 8.0])
async def test_each_event_comes_at_its_own_time_and_errors_do_not_add_up(recording, speed):
    oversleep_s = 0.004 / speed
    out = await play(recording, speed, FakeTime(oversleep_s))
    for at_s, event in out[: len(EVENTS)]:
        due_s = (event.arrival_ns - EVENTS[0].arrival_ns) * 1e-9 / speed
        assert -1e-6 <= at_s - due_s <= oversleep_s + 1e-6


async def test_the_fit_can_be_hurried_through(recording):
    # The pace starts at the last fit move: everything before it comes at once, all after it at its own time.
    moves = [event.arrival_ns for event in EVENTS if isinstance(event, MoveStart)]
    time = FakeTime()
    source = ReplaySource(recording, hurry_fit=True, clock_s=time.clock_s, sleep=time.sleep)
    async with source:
        out = [(time.now_s - 100.0, event) async for event in source]
    for at_s, event in out[: len(EVENTS)]:
        assert at_s == pytest.approx(max(0.0, (event.arrival_ns - moves[-1]) * 1e-9), abs=1e-6)


async def test_speed_0_never_waits_but_lets_others_run(recording):
    time = FakeTime()
    await play(recording, 0.0, time)
    assert set(time.sleeps) == {0.0}
    assert len(time.sleeps) >= len(EVENTS) // 40


async def test_others_do_run(recording):
    turns = 0

    async def other():
        nonlocal turns
        while True:
            turns += 1
            await asyncio.sleep(0)

    task = asyncio.create_task(other())
    async with ReplaySource(recording, speed=0.0) as source:
        async for _ in source:
            pass
    task.cancel()
    assert turns >= len(EVENTS) // 40


async def test_time_lost_to_a_closed_lid_is_not_rushed_after(recording):
    time = FakeTime()
    source = ReplaySource(recording, clock_s=time.clock_s, sleep=time.sleep)
    at_s = []
    async with source:
        async for _ in source:
            at_s.append(time.now_s)
            if len(at_s) == 200:
                time.now_s += 3600.0
    waits = [b - a for a, b in itertools.pairwise(at_s[201:])]
    assert max(waits) == pytest.approx(0.05, abs=1e-3)
    assert sum(waits) > 4.0


async def test_a_file_that_is_no_recording_fails_on_entering(tmp_path):
    (tmp_path / "song.mcap").write_bytes(b"la la la")
    with pytest.raises(NotARecording):
        async with ReplaySource(tmp_path / "song.mcap"):
            pass


async def test_damage_goes_to_the_report(recording, tmp_path):
    data = recording.read_bytes()
    (tmp_path / "cut.mcap").write_bytes(data[: len(data) // 2])
    async with ReplaySource(tmp_path / "cut.mcap", speed=0.0) as source:
        events = [event async for event in source]
    assert source.report.truncated
    assert events[-1].state is LinkState.STOPPED


async def test_leaving_early_closes_the_file(recording):
    source = ReplaySource(recording, speed=0.0)
    async with source:
        async for _ in source:
            break
        assert source._events.gi_frame is not None
    assert source._events.gi_frame is None


@pytest.mark.parametrize("speed", [-1.0, float("inf"), float("nan")])
def test_impossible_speeds(recording, speed):
    with pytest.raises(ValueError, match="speed"):
        ReplaySource(recording, speed=speed)
