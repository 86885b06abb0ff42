from __future__ import annotations

import asyncio
from dataclasses import replace

import pytest

from sensors.events import DrillSet, NoteWritten, RepMark, RepMarked
from server.bays.local_bay import LocalBay
from server.drills import catalogue
from server.engine import Engine
from server.joining.guest import Guest, GuestRole
from server.replay.survey_process import SurveyFailed, surveyed_elsewhere
from server.wire_client import ChooseDrillMessage
from server.wire_lesson import WriteNoteMessage
from server.wire_replay import (
    ReplayLoopMessage,
    ReplayPlayMessage,
    ReplayRepMessage,
    ReplaySeekMessage,
    ReplaySkipMessage,
    ReplaySpeedMessage,
    ReplayStepMessage,
)
from tests.live_service import LIVE, HandSource, drain, never
from tests.replaying import Player, not_surveyed, recorded
from tests.virtual import virtual_run

RUN = (6, 2)


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    """With a mark and a note after the first rep, and another drill from then on."""
    run = virtual_run(*RUN)
    at_ns = run.reps[0].arrival_ns
    i = 1 + next(i for i, event in enumerate(run.events) if event.arrival_ns == at_ns)
    own = [
        RepMarked(arrival_ns=at_ns, rep=1, mark=RepMark.LOOK, by="Ines"),
        NoteWritten(arrival_ns=at_ns, text="Flat at the top.", rep=1, by="Ines"),
        DrillSet(arrival_ns=at_ns, text=catalogue()[1].text),
    ]
    return recorded(tmp_path_factory.mktemp("deck") / "a.mcap", [*run.events[:i], *own, *run.events[i:]])


async def stopped(player):
    await player.until(lambda message: message["type"] == "replay_timeline" and message["duration_s"] is not None)
    await player.ask(ReplayPlayMessage(playing=False))
    await drain(player.mailbox)


async def test_the_timeline_has_the_reps_and_what_was_said_of_them_and_late_joiners_get_it(path):
    player = Player(path)
    async with player.playing():
        await stopped(player)
        timeline = player.heard[-1]
        reps = virtual_run(*RUN).reps
        assert [(rep["index"], rep["verdict"]) for rep in timeline["reps"]] == [(r.index, r.verdict) for r in reps]
        for shown, rep in zip(timeline["reps"], reps, strict=True):
            assert shown["from_s"] < rep.takeaway_s < shown["top_s"] < shown["to_s"]
        assert [(one["kind"], one["rep"], one["text"]) for one in timeline["remarks"]] == [
            ("mark", 1, ""), ("note", 1, "Flat at the top."),
        ]  # fmt: skip
        assert (timeline["progress"], timeline["trouble"]) == (1.0, "")
        hello, *_, again = await drain(player.engine.hub.join())
        assert hello["replay"]["playing"] is False
        assert again == timeline


async def test_a_jump_greets_everybody_with_what_was_so_then(path):
    player = Player(path)
    async with player.playing():
        await stopped(player)
        await player.ask(ReplaySeekMessage(to_s=1e5))
        hello = next(one for one in reversed(await drain(player.mailbox)) if one["type"] == "hello")
        assert [len(hello["reps"]), len(hello["notes"]), len(hello["marks"])] == [2, 1, 1]
        assert hello["drill"]["name"] == catalogue()[1].drill.name
        assert hello["replay"]["at_s"] == pytest.approx(player.deck.timeline.duration_s, abs=1e-6)
        await player.ask(ReplayRepMessage(to="previous"))
        await player.ask(ReplayRepMessage(to="previous"))
        messages = await drain(player.mailbox)
        hello = next(one for one in reversed(messages) if one["type"] == "hello")
        assert [hello["reps"], hello["notes"], hello["marks"]] == [[], [], []]
        assert hello["drill"]["name"] != catalogue()[1].drill.name
        assert messages[-1]["type"] == "frame"
        assert messages[-1]["t_s"] == pytest.approx(hello["replay"]["at_s"], abs=0.2)
        assert hello["replay"]["at_s"] == pytest.approx(player.deck.timeline.rep(1).from_s)


async def test_small_steps_on_are_played_in_front_of_everybody_and_back_is_exactly_back(path):
    player = Player(path)
    async with player.playing():
        await stopped(player)
        await player.ask(ReplaySeekMessage(to_s=player.deck.timeline.rep(1).from_s))
        before = await player.ask(ReplaySkipMessage(by_s=0.9))
        await drain(player.mailbox)
        for message in (ReplayStepMessage(packets=2), ReplaySkipMessage(by_s=0.05)):
            await player.ask(message)
            assert "hello" not in [one["type"] for one in await drain(player.mailbox)]
        there = await player.ask(ReplayStepMessage(packets=3))
        frames = [there, *[await player.ask(ReplayStepMessage(packets=1)) for _ in range(2)]]
        assert [frame.seq - there.seq for frame in frames] == [0, 1, 2]
        back = await player.ask(ReplayStepMessage(packets=-2))
        assert back.model_dump(exclude={"seq"}) == there.model_dump(exclude={"seq"})
        back = await player.ask(ReplaySkipMessage(by_s=before.t_s - player.engine.hub.present.frame.t_s))
        assert abs(back.t_s - before.t_s) < 0.06


async def test_a_loop_plays_its_rep_over_and_over_until_it_is_wound_out_of_it(path):
    player = Player(path)
    async with player.playing():
        await stopped(player)
        await player.ask(ReplayLoopMessage(rep=1))
        for _ in range(2):
            told = await player.until(lambda message: message["type"] == "rep")
            assert told["index"] == 1
            assert player.deck.view.loop == 1
        await player.ask(ReplaySeekMessage(to_s=0.0))
        assert player.deck.view.loop is None
        assert player.engine.replay(ReplayLoopMessage(rep=9)).code == "replay_rep"


async def test_what_is_noted_and_chosen_while_it_plays_is_there_whenever_that_place_is_passed(path):
    player = Player(path)
    async with player.playing():
        await stopped(player)
        at_s = player.deck.timeline.rep(1).to_s
        await player.ask(ReplaySeekMessage(to_s=at_s))
        assert player.engine.add(WriteNoteMessage(text="Look here.", rep=None), by="Mara") is None
        third = catalogue()[2]
        assert player.engine.lesson.ask(ChooseDrillMessage(id=third.id), coach=False) is None
        present = player.engine.hub.present
        for to_s, notes in ((at_s - 4, 0), (at_s + 4, 2), (1.0, 0), (at_s + 1, 2)):
            await player.ask(ReplaySeekMessage(to_s=to_s))
            assert len(present.told["_notes"]) == notes
            assert present.drill.name == third.drill.name
        assert [remark.text for remark in player.deck.timeline.message().remarks] == [
            "",
            "Flat at the top.",
            "Look here.",
        ]


async def test_at_its_end_it_waits_and_plays_again_from_the_beginning(path):
    player = Player(path)
    async with player.playing():
        await stopped(player)
        await player.ask(ReplaySeekMessage(to_s=player.deck.timeline.duration_s - 1.0))
        await player.ask(ReplayPlayMessage(playing=True))
        await player.end()
        assert not player.deck.view.playing
        assert player.engine.hub.present.opening()[-1].type == "end"
        await drain(player.mailbox)
        await player.ask(ReplayPlayMessage(playing=True))
        assert not player.engine.hub.present.ended
        hello = await player.until(lambda message: message["type"] == "hello")
        assert (hello["reps"], hello["replay"]["playing"], hello["replay"]["at_s"]) == ([], True, 0.0)


async def test_waiting_at_a_slow_speed_ends_with_the_next_wish(path):
    player = Player(path, speed=0.25)
    async with player.playing():
        while player.deck._head is None:
            await asyncio.sleep(0)
        assert player.engine.replay(ReplaySpeedMessage(speed=0.1)).code == "replay_speed"
        await player.ask(ReplaySpeedMessage(speed=0.0))
        async with asyncio.timeout(60):
            while player.deck.view.at_s < 3.0:
                await asyncio.sleep(0)
    assert player.deck.view.speed == 0.0


async def test_who_may_wind():
    live = Engine(HandSource, view=LIVE, sleep=never)
    bay = LocalBay(live, id="one", name="One")
    refused = await bay.ask(Guest(role=GuestRole.STUDENT), ReplayPlayMessage(playing=False))
    assert (refused.code, "this is live" in refused.text) == ("not_a_replay", True)
    refused = await bay.ask(Guest(role=GuestRole.VIEWER), ReplayPlayMessage(playing=False))
    assert refused.code == "viewers_watch"


async def test_without_the_first_reading_it_plays_and_winds_all_the_same(path):
    async def failing(*_):
        raise SurveyFailed("no room")
        yield

    player = Player(path, survey=failing)
    async with player.playing():
        told = await player.until(lambda message: message["type"] == "replay_timeline")
        assert "no room" in told["trouble"]
        frame = await player.ask(ReplaySeekMessage(to_s=60.0))
        assert frame.t_s == pytest.approx(60.0, abs=0.1)


async def test_a_sensor_that_cannot_be_read_is_told_and_the_service_lives(tmp_path):
    events = [
        replace(event, profile="sundial") if hasattr(event, "profile") else event
        for event in virtual_run(*RUN).events[:50]
    ]
    player = Player(recorded(tmp_path / "a.mcap", events), survey=not_surveyed)
    async with player.playing():
        await player.end()
        told = await player.until(lambda message: message["type"] == "problem")
        assert (told["code"], "sundial" in told["text"]) == ("source_failed", True)
        assert player.engine.replay(ReplayPlayMessage(playing=True)).code == "replay_not_begun"


async def test_the_first_reading_in_a_process_of_its_own_finds_the_same(path):
    here, there = Player(path), Player(path, survey=surveyed_elsewhere)
    for player in (here, there):
        async with player.playing():
            await player.until(
                lambda message: message["type"] == "replay_timeline" and message["duration_s"] is not None
            )
            await player.ask(ReplayPlayMessage(playing=False))
            await player.ask(ReplaySeekMessage(to_s=70.0))
            assert len(player.deck._head.keyframes._spilled) > 10
    assert here.deck.timeline.message() == there.deck.timeline.message()
    seen = [player.engine.hub.present.frame.model_dump(exclude={"seq"}) for player in (here, there)]
    assert seen[0] == seen[1]
