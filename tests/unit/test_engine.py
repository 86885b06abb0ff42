from __future__ import annotations

import asyncio
import errno
import json
from contextlib import asynccontextmanager
from types import SimpleNamespace

import pytest

from fusion.calibration.session import FitStatus
from fusion.outputs.fit import FitProgress, FitState
from fusion.outputs.instant import Doubt, Phase, Series
from fusion.outputs.rep import Rep, RepRefined, Verdict
from sensors.errors import NotARecording, UnknownProfile
from sensors.events import (
    ClockJump,
    ClockJumpCause,
    LinkReason,
    LinkState,
    MoveStart,
    PlayerSet,
    RawPacket,
    RecordingResumed,
    SensorInfo,
)
from sensors.ids import Move, Side
from sensors.record import background
from sensors.record.reader import read_events
from sensors.record.sink import RecordSink
from sensors.sources.replay import ReplaySource
from server.engine import Engine
from server.tape import Tape
from tests.live_service import (
    DEMO,
    LIVE,
    REPLAY,
    SENSOR,
    HandSource,
    ToldPipeline,
    cue,
    drain,
    info,
    link,
    never,
    packet,
    phase,
    readout,
)

MARA = PlayerSet(arrival_ns=99, name="Mara Voss", lead_side=Side.LEFT)


class Practice:
    """An engine on a source fed by hand, with one client."""

    def __init__(self, outputs=None, view=LIVE, **options):
        self.sources = [HandSource()]
        self.pipelines = []
        self.clock_ns = 1_000
        self.sleeps: asyncio.Queue[asyncio.Event] = asyncio.Queue()

        def make_source():
            if self.sources[-1].is_open or len(self.pipelines) > 1:
                self.sources.append(HandSource())
            return self.sources[-1]

        def make_pipeline():
            self.pipelines.append(ToldPipeline(outputs))
            return self.pipelines[-1]

        self.engine = Engine(
            make_source,
            view=view,
            make_pipeline=make_pipeline,
            clock_ns=lambda: self.clock_ns,
            **({"sleep": never} | options),
        )
        self.mailbox = self.engine.hub.join()

    async def play(self, *events):
        self.sources[-1].feed(*events)
        await self.sources[-1].taken()
        return await self.heard()

    async def until(self, wanted):
        """All messages up to one of that type."""
        seen = []
        async with asyncio.timeout(20):
            while not seen or seen[-1]["type"] != wanted:
                seen.append(json.loads(await self.mailbox.take()))
        return seen

    async def heard(self):
        return await drain(self.mailbox)

    @asynccontextmanager
    async def running(self):
        task = asyncio.create_task(self.engine.run())
        await asyncio.sleep(0)
        await self.heard()  # hello
        try:
            yield self
        finally:
            task.cancel()
            await asyncio.wait({task})
        if not task.cancelled():
            task.result()


def types(messages):
    return [message["type"] for message in messages]


async def test_events_become_messages_the_cue_before_the_frame_of_its_instant():
    outputs = {b"1": (readout(1.0), phase(0.9), cue(1.0, sounding=True)), b"2": (readout(1.1),)}
    async with Practice(outputs).running() as practice:
        got = await practice.play(packet(b"1"))
        assert types(got) == ["phase", "cue", "frame"]
        assert (got[2]["seq"], got[2]["sounding"]) == (1, True)
        (frame,) = await practice.play(packet(b"2"))
        assert (frame["seq"], frame["t_s"], frame["sounding"]) == (2, 1.1, True)
    assert practice.engine.n_packets == 2
    assert not practice.sources[0].is_open


async def test_a_burst_leaves_the_senders_their_turn():
    async with Practice({b"1": (readout(1.0),)}).running() as practice:
        sent = []

        async def send():
            while True:
                sent.append(await practice.mailbox.take())

        sender = asyncio.create_task(send())
        practice.sources[0].feed(*[packet(b"1")] * 50)
        await practice.sources[0].taken()
        assert len(sent) >= 20
        sender.cancel()
        await asyncio.wait({sender})


async def test_the_player_goes_in_front_and_everything_is_recorded_first(tmp_path):
    tape = Tape(tmp_path / "a.mcap")
    practice = Practice(player=MARA, tape=tape)
    async with practice.running():
        await practice.play(link(LinkState.SEARCHING, arrival_ns=10), info(20), packet(b"", 30))
        practice.clock_ns = 40
        assert practice.engine.begin_move(Move.STILL) is None
        await practice.play(packet(b"", 50))
    pushed = practice.pipelines[0].pushed
    assert pushed[0] == PlayerSet(arrival_ns=10, name="Mara Voss", lead_side=Side.LEFT)
    assert pushed[4] == MoveStart(arrival_ns=40, move=Move.STILL)
    assert list(read_events(tmp_path / "a.mcap")) == pushed


async def test_a_tap_is_never_earlier_than_what_came_before_nor_later_than_what_follows(tmp_path):
    tape = Tape(tmp_path / "a.mcap")
    practice = Practice(tape=tape)
    async with practice.running():
        await practice.play(info(), packet(b"", 5_000))
        practice.clock_ns = 4_000
        practice.engine.begin_move(Move.STILL)
        practice.clock_ns = 9_000
        practice.engine.begin_move(Move.NEUTRAL)
        await practice.play(packet(b"late", 8_990))
    stamps = [event.arrival_ns for event in read_events(tmp_path / "a.mcap")]
    assert stamps == [0, 5_000, 5_000, 9_000, 9_000]
    assert practice.engine.n_bad_stamps == 1


async def test_a_move_before_the_first_event_still_comes_after_the_player():
    practice = Practice(player=MARA)
    async with practice.running():
        practice.engine.begin_move(Move.STILL)
    assert [type(event) for event in practice.pipelines[0].pushed] == [PlayerSet, MoveStart]


@pytest.mark.parametrize("view", [DEMO, REPLAY])
async def test_a_recording_carries_its_own_moves(view):
    practice = Practice(view=view)
    async with practice.running():
        problem = practice.engine.begin_move(Move.STILL)
    assert problem is not None
    assert (problem.code, "recorded" in problem.text) == ("move_refused", True)
    assert practice.pipelines[0].pushed == []


async def test_fit_news_carries_the_fit(monkeypatch):
    practice = Practice({b"1": (FitProgress(arrival_ns=0, move=Move.STILL, state=FitState.TAKEN),)})
    practice.pipelines[0].fit = FitStatus(taken=(Move.STILL,), complete=False)
    async with practice.running():
        (fit,) = await practice.play(packet(b"1"))
    due = ["neutral", "roll", "twirl", "locked", "palm", "address"]
    assert fit["fit"] == {
        "complete": False, "taken": ["still"], "known": False, "due": due, "constants": [], "notes": [],
    }  # fmt: skip
    assert fit["advice"].startswith("Taken. Next: ")


def rep(index, backswing_s):
    return Rep(
        arrival_ns=0, index=index, address_s=0.0, takeaway_s=1.0, checkpoints={}, backswing_s=backswing_s, downswing_s=0.25,
        verdict=Verdict.IN_BAND, worst=0.0, out_s=0.0, doubt=Doubt.NONE,
    )  # fmt: skip


async def test_a_refined_rep_takes_its_place_for_late_joiners_and_is_not_told_again():
    outputs = {
        b"1": (rep(1, 0.8),),
        b"2": (rep(2, 0.9),),
        b"3": (RepRefined(arrival_ns=0, rep=rep(1, 0.75)), Series(arrival_ns=0, moments=())),
        b"4": (RepRefined(arrival_ns=0, rep=rep(7, 0.5)),),
    }
    async with Practice(outputs).running() as practice:
        assert types(await practice.play(packet(b"1"), packet(b"2"))) == ["rep", "rep"]
        assert await practice.play(packet(b"3"), packet(b"4")) == []
        hello, *_ = await drain(practice.engine.hub.join())
    assert [(one["index"], one["backswing_s"], one["tempo"]) for one in hello["reps"]] == [
        (1, 0.75, 3.0),
        (2, 0.9, 3.6),
    ]


async def test_the_player_of_a_recording_is_told_to_those_who_came_before():
    async with Practice(view=REPLAY).running() as practice:
        (hello,) = await practice.play(MARA)
        assert hello["player"]["name"] == "Mara Voss"
        assert await practice.play(MARA) == []


class Ticks:
    """A sleep whose end the test decides."""

    def __init__(self):
        self.waiting: asyncio.Future[None] | None = None
        self.asleep = asyncio.Event()

    async def __call__(self, _):
        self.waiting = asyncio.get_running_loop().create_future()
        self.asleep.set()
        await self.waiting

    async def tick(self):
        await self.asleep.wait()
        self.asleep.clear()
        assert self.waiting is not None
        self.waiting.set_result(None)
        await self.asleep.wait()


async def test_sensor_health_is_told_at_each_change_and_by_the_clock_alone():
    ticks = Ticks()
    async with Practice(sleep=ticks).running() as practice:
        await practice.play(info())
        (sensors,) = await practice.play(link(LinkState.LOST, LinkReason.DROPPED))
        assert sensors["sensors"][0]["state"] == "lost"
        assert "broke off" in sensors["sensors"][0]["advice"]
        await ticks.tick()
        assert types(await practice.heard()) == ["sensors"]


async def test_a_sensor_that_goes_quiet_is_seen_without_any_event():
    ticks = Ticks()
    async with Practice(sleep=ticks).running() as practice:
        await practice.play(info(), link(LinkState.STREAMING))
        await ticks.tick()
        (sensors,) = await practice.heard()
        assert sensors["sensors"][0]["reason"] == "silent"


async def test_trouble_with_a_sensor_that_was_never_connected_is_told_in_words():
    async with Practice().running() as practice:
        assert await practice.play(link(LinkState.SEARCHING)) == []
        (problem,) = await practice.play(link(LinkState.SEARCHING, LinkReason.ADAPTER_OFF))
        assert problem["code"] == f"sensor:{SENSOR}"
        assert "switched off" in problem["text"]
        assert len(practice.engine.hub.present.opening()) == 2
        (hello,) = await practice.play(info())
        assert hello["type"] == "hello"
        assert len(practice.engine.hub.present.opening()) == 1


async def test_a_cue_is_hushed_when_the_data_stop():
    ticks = Ticks()
    outputs = {b"1": (cue(1.0, sounding=True), readout(1.0)), b"2": (readout(2.0),)}
    async with Practice(outputs, sleep=ticks).running() as practice:
        await practice.play(packet(b"1"))
        await ticks.tick()
        assert types(await practice.heard()) == ["sensors"]
        await ticks.tick()
        stop, _ = await practice.heard()
        assert (stop["type"], stop["sounding"], stop["t_s"]) == ("cue", False, 1.0)
        await ticks.tick()
        assert types(await practice.heard()) == ["sensors"]
        (frame,) = await practice.play(packet(b"2"))  # it was only late, and the pipeline has not stopped the cue
        assert frame["sounding"]


async def test_a_cue_is_hushed_when_the_angle_is_lost():
    outputs = {
        b"1": (cue(1.0, sounding=True), readout(1.0)),
        b"2": (readout(1.1, Doubt.SENSOR_MISSING, Phase.IDLE),),
    }
    async with Practice(outputs).running() as practice:
        await practice.play(packet(b"1"))
        stop, frame = await practice.play(packet(b"2"))
        assert (stop["type"], stop["sounding"], frame["sounding"]) == ("cue", False, False)
        assert types(await practice.play(packet(b"2"))) == ["frame"]


async def test_the_end_of_a_recording():
    practice = Practice({b"1": (cue(1.0, sounding=True), readout(1.0))}, view=REPLAY)
    async with practice.running():
        await practice.play(packet(b"1"))
        practice.sources[0].end()
        while not practice.engine.hub.present.ended:
            await asyncio.sleep(0)
        assert types(await practice.heard()) == ["cue", "end"]
        problem = practice.engine.begin_move(Move.STILL)
        assert problem is not None
        assert "over" in problem.text


async def test_a_repeat_starts_source_and_pipeline_afresh():
    outputs = {b"1": (cue(1.0, sounding=True), readout(1.0)), b"2": (readout(0.1),)}
    practice = Practice(outputs, view=DEMO, repeat=True)
    async with practice.running():
        await practice.play(packet(b"1", arrival_ns=10**12))
        practice.sources[0].end()
        while len(practice.sources) < 2 or not practice.sources[1].is_open:
            await asyncio.sleep(0)
        stop, end = await practice.heard()
        assert (stop["sounding"], end) == (False, {"type": "end", "again": True})
        (frame,) = await practice.play(packet(b"2", arrival_ns=5))
        assert (frame["seq"], frame["sounding"]) == (2, False)  # seq goes on: acknowledgements stay true
        assert practice.pipelines[1].pushed == [packet(b"2", arrival_ns=5)]
    assert practice.engine.n_bad_stamps == 0


async def test_an_empty_recording_is_not_repeated_for_ever():
    practice = Practice(view=DEMO, repeat=True)
    practice.sources[0].end()
    async with practice.running():
        while not practice.engine.hub.present.ended:
            await asyncio.sleep(0)


@pytest.mark.parametrize(
    ("error", "says"),
    [(UnknownProfile("sundial", ("open-imu-1",)), "sundial"), (NotARecording("a.mcap", "it is empty"), "empty")],
)
async def test_trouble_with_a_source_is_told_and_the_service_lives(error, says):
    practice = Practice(view=DEMO, repeat=True)
    async with practice.running():
        practice.sources[0].feed(packet(), error)
        while not practice.engine.hub.present.ended:
            await asyncio.sleep(0)
        problem, end = await practice.heard()
        assert (problem["code"], says in problem["text"]) == ("source_failed", True)
        assert end == {"type": "end", "again": False}


async def test_a_bug_escapes_and_closes_everything(tmp_path):
    tape = Tape(tmp_path / "a.mcap")
    practice = Practice(tape=tape)

    def bug(_):
        raise ZeroDivisionError

    practice.pipelines[0].push = bug
    task = asyncio.create_task(practice.engine.run())
    practice.sources[0].feed(packet())
    with pytest.raises(ExceptionGroup) as caught:
        await task
    assert caught.group_contains(ZeroDivisionError)
    assert not practice.sources[0].is_open
    assert list(read_events(tmp_path / "a.mcap")) == [packet()]


async def test_a_full_disk_is_told_and_the_practice_goes_on(tmp_path, monkeypatch):
    def full_disk(*_):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(background, "RETRY_S", 0.01)
    tape = Tape(tmp_path / "a.mcap")
    told: list[str] = []
    practice = Practice({b"1": (readout(1.0),)}, tape=tape, sleep=lambda _: asyncio.sleep(0.005), tell=told.append)
    assert practice.engine.hub.present.recording == str(tmp_path / "a.mcap")
    write = RecordSink.write
    async with practice.running():
        await practice.play(info(), packet(b"0"))
        while not tape.status.size_bytes or len(list(read_events(tmp_path / "a.mcap"))) < 2:  # the system has both
            await asyncio.sleep(0.02)
        with monkeypatch.context() as patched:
            patched.setattr(RecordSink, "write", full_disk)
            practice.sources[0].feed(info())
            messages = await practice.until("problem")
            assert messages[-2]["recording"] is None
            assert (messages[-1]["code"], "disk is full" in messages[-1]["text"]) == ("recording_stopped", True)
            practice.sources[0].feed(packet(b"1"))
            await practice.until("frame")
        assert RecordSink.write is write
        messages = await practice.until("problem")
        hello = next(message for message in messages if message["type"] == "hello")
        assert hello["recording"] == str(tmp_path / "a-part-2.mcap")
        assert messages[-1]["code"] == "recording_moved"
        assert f"Recording to {tmp_path / 'a.mcap'} stopped" in messages[-1]["text"]  # not that an attempt failed
    assert ["disk is full" in told[0], "goes on in" in told[-1]] == [True, True]  # in the terminal as well
    first, second = (list(read_events(path)) for path in tape.status.paths)
    mark = [type(event) for event in second].index(RecordingResumed)
    assert [type(event) for event in first + second[mark + 1 :]] == [SensorInfo, RawPacket, SensorInfo, RawPacket]
    assert [type(event) for event in second[:mark]] == [SensorInfo]


async def test_a_clock_that_jumps_is_told_and_recorded(tmp_path):
    tape = Tape(tmp_path / "a.mcap")
    looks = [(ClockJump(arrival_ns=30, cause=ClockJumpCause.SET, seconds=7200.0),)]
    watch = SimpleNamespace(look=lambda: looks.pop() if looks else ())
    practice = Practice(tape=tape, watch=watch, sleep=lambda _: asyncio.sleep(0.005))
    async with practice.running():
        practice.sources[0].feed(info(20), packet(b"", 25))
        (*_, problem) = await practice.until("problem")
        assert problem["code"] == "clock_jump"
        assert "2 h 0 min" in problem["text"]
    assert ClockJump in [type(event) for event in read_events(tmp_path / "a.mcap")]


async def test_the_demo_goes_through_the_real_pipeline(tmp_path):
    """What a page would hear of a virtual practice: all reps, every cue stopped again, angles in the frames."""
    from sensors.record.writer import Recorder
    from tests.virtual import virtual_run

    run = virtual_run(3, 2)
    with Recorder(tmp_path / "a.mcap") as recorder:
        for event in run.events:
            recorder.write(event)
    engine = Engine(lambda: ReplaySource(tmp_path / "a.mcap", speed=0.0), view=REPLAY, sleep=never)
    mailbox = engine.hub.join()
    task = asyncio.create_task(engine.run())
    heard = []
    while not engine.hub.present.ended or mailbox.has_mail:
        heard += await drain(mailbox)
        await asyncio.sleep(0)
    task.cancel()
    await asyncio.wait({task})
    assert (
        [message["index"] for message in heard if message["type"] == "rep"] == [rep.index for rep in run.reps] == [1, 2]
    )
    cues = [message["sounding"] for message in heard if message["type"] == "cue"]
    assert cues == [i % 2 == 0 for i in range(len(cues))]
    assert [message["fit"]["complete"] for message in heard if message["type"] == "fit"][-1]
    assert any(message["bend_change_deg"] is not None for message in heard if message["type"] == "frame")
    assert engine.hub.present.opening()[0].player is not None
