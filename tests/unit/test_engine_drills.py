"""The engine and drills: chosen by name, recorded whole, told to all, kept when a demo begins again."""

from __future__ import annotations

import asyncio
import json

from fusion.drills.desk import Desk
from fusion.drills.quantity import Quantity
from fusion.outputs.cue import CueChange
from fusion.outputs.instant import Angles, Doubt, Phase, Readout
from fusion.outputs.rep import Rep
from fusion.pipeline import Pipeline
from sensors.events import DrillSet, LookAheadSet, PauseSet, PlayerSet, SecondDrillSet
from sensors.ids import Side
from sensors.record.reader import read_events
from sensors.record.writer import Recorder
from server.drills import default_drill, our_drills, own_folder
from server.engine import Engine
from server.tape import Tape
from server.wire_client import (
    BandMessage,
    ChooseDrillMessage,
    DrillTextMessage,
    EditDrillMessage,
    SaveDrillMessage,
    SecondMessage,
    TryDrillMessage,
)
from tests.live_service import DEMO, LIVE, HandSource, drain, info, never, packet
from tests.unit.test_drill_text import TEMPO, TEXT
from tests.unit.test_engine import MARA, Practice, types
from tests.virtual import virtual_session

SHORT = TEXT.replace("reps = 10", "reps = 2").replace('"half"', '"every"') + '\n[[blocks]]\nreps = 2\ncue = "none"\n'


class Choosing(Practice):
    """The same on the real pipeline."""

    def __init__(self, view=LIVE, **options):
        self.sources, self.clock_ns = [HandSource()], 1_000
        self.engine = Engine(
            lambda: self.sources[-1], view=view, clock_ns=lambda: self.clock_ns, **({"sleep": never} | options)
        )
        self.mailbox = self.engine.hub.join()


def choose(practice, drill_id):
    return practice.engine.lesson.ask(ChooseDrillMessage(id=drill_id), coach=False)


async def test_a_drill_goes_after_the_player_and_is_recorded(tmp_path):
    first, second = our_drills()[:2]
    practice = Choosing(player=MARA, drill=first, tape=Tape(tmp_path / "a.mcap"))
    async with practice.running():
        (told,) = await practice.play(info())
        assert (told["type"], told["drill"]["name"]) == ("drill", first.drill.name)
        assert told["course"]["block"] == 0
        assert choose(practice, second.id) is None
        (told,) = await practice.heard()
        assert told["drill"]["name"] == second.drill.name
        late = practice.engine.hub.join()
        hello, *_ = await drain(late)
        assert hello["drill"]["name"] == second.drill.name
        assert [one["id"] for one in hello["drills"]] == [one.id for one in our_drills()]
        await practice.play(packet(b"", 2_000))
    events = list(read_events(tmp_path / "a.mcap"))
    assert [type(event) for event in events[:2]] == [PlayerSet, DrillSet]
    assert [event.text for event in events if isinstance(event, DrillSet)] == [first.text, second.text]


async def test_a_drill_chosen_before_the_first_event_waits_for_it():
    practice = Choosing()
    async with practice.running():
        assert choose(practice, our_drills()[2].id) is None
        assert await practice.heard() == []
        told = await practice.play(info())
    assert types(told) == ["drill"]


async def test_a_drill_that_there_is_not_and_a_practice_that_is_over():
    practice = Choosing(view=DEMO)
    async with practice.running():
        problem = choose(practice, "../../secret")
        assert (problem.code, "no drill" in problem.text) == ("drill_refused", True)
        practice.sources[0].end()
        await practice.heard()
        practice.engine.hub.present.ended = True
        assert "over" in choose(practice, our_drills()[0].id).text


async def test_a_demo_that_begins_again_keeps_the_drill():
    practice = Choosing(view=DEMO, repeat=True)
    chosen = our_drills()[3]
    async with practice.running():
        await practice.play(info())
        choose(practice, chosen.id)
        await practice.heard()
        practice.sources.append(HandSource())
        practice.sources[0].end()
        end = json.loads(await asyncio.wait_for(practice.mailbox.take(), 10))
        assert (end["type"], end["again"]) == ("end", True)
        (told,) = await practice.play(info())
    assert told["drill"]["name"] == chosen.drill.name


async def test_the_look_ahead_is_recorded_told_and_kept(tmp_path):
    practice = Choosing(player=MARA, tape=Tape(tmp_path / "a.mcap"))
    async with practice.running():
        practice.engine.look_ahead(40)
        assert await practice.heard() == []
        await practice.play(info(), packet(b"", 1_500))
        practice.engine.look_ahead(90)
        (told,) = await practice.heard()
        assert (told["type"], told["look_ahead_ms"]) == ("drill", 90)
        hello, *_ = await drain(practice.engine.hub.join())
        assert hello["look_ahead_ms"] == 90
    events = list(read_events(tmp_path / "a.mcap"))
    assert [event.lead_s for event in events if isinstance(event, LookAheadSet)] == [0.04, 0.09]


async def test_a_pause_is_recorded_told_and_kept(tmp_path):
    practice = Choosing(player=MARA, tape=Tape(tmp_path / "a.mcap"))
    async with practice.running():
        await practice.play(info(), packet(b"", 1_500))
        practice.engine.pause(True)
        (told,) = await practice.heard()
        assert (told["type"], told["paused"]) == ("drill", True)
        hello, *_ = await drain(practice.engine.hub.join())
        assert hello["paused"] is True
        practice.engine.pause(False)
        assert [told["paused"] for told in await practice.heard()] == [False]
    events = list(read_events(tmp_path / "a.mcap"))
    assert [event.paused for event in events if isinstance(event, PauseSet)] == [True, False]


async def test_a_replay_tells_the_pauses_of_the_practice():
    practice = Choosing(view=DEMO)
    async with practice.running():
        (told,) = await practice.play(PauseSet(arrival_ns=5, paused=True))
    assert (told["type"], told["paused"]) == ("drill", True)


async def test_another_club_is_recorded_and_told(tmp_path):
    practice = Choosing(player=MARA, tape=Tape(tmp_path / "a.mcap"))
    async with practice.running():
        assert practice.engine.choose_club("5 wood") is None  # goes in front of the first event
        await practice.play(info(), packet(b"", 1_500))
        assert practice.engine.choose_club(" 7 iron ") is None
        hello, *_ = await drain(practice.engine.hub.join())
        assert hello["player"]["club"] == "7 iron"
    events = list(read_events(tmp_path / "a.mcap"))
    players = [event for event in events if isinstance(event, PlayerSet)]
    assert [(player.club, player.name) for player in players] == [("5 wood", MARA.name), ("7 iron", MARA.name)]


async def test_lengths_are_recorded_and_told_and_another_club_has_one_of_its_own(tmp_path):
    practice = Choosing(player=MARA, tape=Tape(tmp_path / "a.mcap"))
    async with practice.running():
        await practice.play(info(), packet(b"", 1_500))
        assert practice.engine.set_lengths(0.9398, 0.61) is None
        hello, *_ = await drain(practice.engine.hub.join())
        assert (hello["player"]["club_length_m"], hello["player"]["arm_length_m"]) == (0.9398, 0.61)
        assert practice.engine.choose_club("5 wood") is None
        assert practice.engine.set_lengths(None, 0.61) is None
    players = [event for event in read_events(tmp_path / "a.mcap") if isinstance(event, PlayerSet)]
    assert [(one.club_length_m, one.arm_length_m) for one in players[1:]] == [(0.9398, 0.61), (0.0, 0.61), (0.0, 0.61)]


async def test_the_club_of_a_recording_stays():
    practice = Choosing(view=DEMO)
    async with practice.running():
        problem = practice.engine.choose_club("7 iron")
    assert problem is not None
    assert problem.code == "club_refused"


def pause_around(events, first_s, last_s):
    """The events with a pause from one time of the practice to another."""
    start_ns = events[0].arrival_ns
    marks = [(start_ns + round(first_s * 1e9), True), (start_ns + round(last_s * 1e9), False)]
    out = list(events)
    for at_ns, paused in marks:
        index = next(i for i, event in enumerate(out) if event.arrival_ns >= at_ns)
        out.insert(index, PauseSet(arrival_ns=out[index].arrival_ns, paused=paused))
    return out


def test_reps_in_a_pause_are_silent_count_for_no_block_and_are_replayed_so(tmp_path):
    """Of five reps the second falls into the pause, and the third has begun when it starts again; angles stay to the bit."""
    events = list(virtual_session(11, 5, Side.LEFT, perfect=True).events())
    text = SHORT.replace("reps = 2", "reps = 3", 1)
    events.insert(1, DrillSet(arrival_ns=events[0].arrival_ns, text=text))
    plain, _ = outputs_of(events)
    plain_reps = [output for output in plain if isinstance(output, Rep)]
    second, third = plain_reps[1], plain_reps[2]
    held = pause_around(events, second.takeaway_s - 1.0, third.takeaway_s + 0.6)
    outputs, course = outputs_of(held)
    reps = [output for output in outputs if isinstance(output, Rep)]
    assert [rep.paused for rep in reps] == [False, True, True, False, False]
    assert [rep.cued for rep in reps] == [True, False, False, True, True]
    assert (course.tallies[0].n_swung, course.index) == (3, 1)
    cues = [output.t_s for output in outputs if isinstance(output, CueChange) and output.sounding]
    assert not [t_s for t_s in cues if second.takeaway_s - 1.0 < t_s < third.takeaway_s + 0.6]
    angles = [[one.angles for one in them if isinstance(one, Readout)] for them in (plain, outputs)]
    assert angles[0] == angles[1]
    path = tmp_path / "a.mcap"
    with Recorder(path) as recorder:
        for event in held:
            recorder.write(event)
    assert outputs_of(read_events(path))[0] == outputs


def test_a_cue_that_sounds_stops_with_the_pause():
    desk = Desk(default_drill())
    monitor = desk.monitor()

    def heard(t_s, one):
        return [edge.sounding for edge in one.push(t_s, Phase.TAKEAWAY, Angles(bend_change_rad=-1.0), Doubt.NONE)]

    assert heard(0.0, monitor) == [True]
    desk.pause(True)
    assert heard(0.01, monitor) == [False]
    desk.pause(False)
    assert heard(0.02, monitor) == []
    assert heard(0.03, desk.monitor()) == [True]


def outputs_of(events):
    pipeline = Pipeline(default_drill())
    return [output for event in events for output in pipeline.push(event)], pipeline.course


async def test_a_recording_with_a_broken_drill_says_so_and_goes_on():
    practice = Choosing()
    async with practice.running():
        (told,) = await practice.play(DrillSet(arrival_ns=5, text="name = 1"))
    assert (told["type"], told["code"]) == ("problem", "drill_invalid")
    assert "line 1" in told["text"]


def test_a_practice_through_its_blocks_is_cued_tested_and_replayed_the_same(tmp_path):
    """Two cued reps, two of a test, and one after the course is over; and the recording of it says the same."""
    session = virtual_session(11, 5, Side.LEFT, perfect=True)
    events = list(session.events())
    events.insert(1, DrillSet(arrival_ns=events[0].arrival_ns, text=SHORT))
    path = tmp_path / "a.mcap"
    with Recorder(path) as recorder:
        for event in events:
            recorder.write(event)

    outputs, course = outputs_of(events)
    reps = [output for output in outputs if isinstance(output, Rep)]
    assert [(rep.cued, rep.testing) for rep in reps] == [(True, False)] * 2 + [(False, True)] * 2 + [(False, False)]
    assert {rep.drill for rep in reps} == {"Quiet"}
    assert course.over
    cues = [output.t_s for output in outputs if isinstance(output, CueChange) and output.sounding]
    assert all(t_s < reps[2].takeaway_s for t_s in cues)
    for n, tally in enumerate(course.tallies):
        judged = [rep.verdict for rep in reps[2 * n : 2 * n + 2]]
        assert tally.n_in_band == judged.count("in_band")
    again, _ = outputs_of(read_events(path))
    assert again == outputs


def test_the_silent_reps_would_have_been_cued():
    """The test above proves nothing unless the player errs in the silent reps."""
    session = virtual_session(11, 5, Side.LEFT, perfect=True)
    pipeline = Pipeline(default_drill())
    outputs = [output for event in session.events() for output in pipeline.push(event)]
    silent = [output for output in outputs if isinstance(output, Rep)][2:4]
    assert any(rep.out_s > 0.1 for rep in silent)


def ask(practice, message, *, coach=False):
    return practice.engine.lesson.ask(message, coach=coach)


async def test_a_drill_that_is_written_comes_into_force_and_a_slip_is_told_with_its_line(tmp_path):
    practice = Choosing(tape=Tape(tmp_path / "a.mcap"))
    async with practice.running():
        await practice.play(info())
        assert ask(practice, DrillTextMessage(text=TEXT)) is None
        (told,) = await practice.heard()
        assert (told["drill"]["name"], told["drill"]["unit"]) == ("Quiet", "deg")
        problem = ask(practice, DrillTextMessage(text=TEXT.replace("-8", "24")))
        assert "line 9: the band is 1 deg wide" in problem.text
        assert await practice.heard() == []
        await practice.play(packet(b"", 2_000))
    events = list(read_events(tmp_path / "a.mcap"))
    assert [event.text for event in events if isinstance(event, DrillSet)] == [TEXT]


async def test_a_band_is_moved_and_never_made_narrower_than_twice_the_error():
    practice = Choosing()
    async with practice.running():
        await practice.play(info())
        ask(practice, DrillTextMessage(text=TEXT))
        assert ask(practice, BandMessage(low=-3.5, high=12.0)) is None
        *_, told = await practice.heard()
        assert (told["drill"]["low_deg"], told["drill"]["high_deg"], told["drill"]["name"]) == (-3.5, 12.0, "Quiet")
        for low, high in ((0.0, 3.9), (5.0, -5.0)):
            assert "the least is 4 deg" in ask(practice, BandMessage(low=low, high=high)).text
        ask(practice, DrillTextMessage(text=TEMPO))
        assert ask(practice, BandMessage(low=2.5, high=3.5)) is None
        *_, told = await practice.heard()
        drill = told["drill"]
    assert (drill["low"], drill["high"], drill["unit"], drill["low_deg"]) == (2.5, 3.5, "ratio", None)


async def test_only_a_coach_sets_a_second_drill_and_it_is_recorded(tmp_path):
    practice = Choosing(tape=Tape(tmp_path / "a.mcap"))
    second = our_drills()[1]
    async with practice.running():
        assert "Only a coach" in ask(practice, SecondMessage(id=second.id)).text
        assert ask(practice, SecondMessage(id=second.id), coach=True) is None
        (told,) = await practice.play(info())
        assert told["second"]["name"] == second.drill.name
        hello, *_ = await drain(practice.engine.hub.join())
        assert hello["second"]["name"] == second.drill.name
        assert "no drill" in ask(practice, SecondMessage(id="none"), coach=True).text
        assert ask(practice, SecondMessage(id=None), coach=True) is None
        (told,) = await practice.heard()
        assert told["second"] is None
        await practice.play(packet(b"", 2_000))
    events = list(read_events(tmp_path / "a.mcap"))
    assert [event.text for event in events if isinstance(event, SecondDrillSet)] == [second.text, ""]


async def test_a_drill_is_given_key_by_key_and_tried_before_there_is_a_rep():
    practice = Choosing()
    async with practice.running():
        form = ask(practice, EditDrillMessage(id=None))
        assert (form.low, form.from_mark, form.to_mark) == (-8.0, "takeaway", "top")
        assert len(form.quantities) == len(Quantity)
        assert ask(practice, EditDrillMessage(id="none")).code == "drill_refused"
        tried = ask(practice, TryDrillMessage(text=TEXT))
        assert (tried.problem, tried.verdict) == ("", None)
        tried = ask(practice, TryDrillMessage(text=TEXT.replace("reps = 10", "reps = 0")))
    assert (tried.key, tried.line) == ("blocks.0.reps", 12)


async def test_a_drill_is_kept_safely(tmp_path, monkeypatch):
    monkeypatch.setattr("platformdirs.user_config_dir", lambda *_, **__: str(tmp_path / "config"))
    practice, folder = Choosing(), own_folder()
    async with practice.running():
        save = SaveDrillMessage(text=TEXT, id="my-drill")
        assert "Only a coach" in ask(practice, save).text
        assert not folder.exists()
        assert ask(practice, save, coach=True) is None
        (told,) = await practice.heard()
        assert (told["type"], told["saved"], told["drills"][-1]["own"]) == ("drills", "my-drill", True)
        for name in ("../up", "a/b", "", "UPPER", "a--b", "-a", "con.toml", "a\n"):
            assert "small letters" in ask(practice, SaveDrillMessage(text=TEXT, id=name), coach=True).text
        assert (
            "line 12" in ask(practice, SaveDrillMessage(text=TEXT.replace("10", "0"), id="my-drill"), coach=True).text
        )
        changed = TEXT.replace("Quiet", "Quieter")
        assert ask(practice, SaveDrillMessage(text=changed, id="my-drill"), coach=True) is None
    assert (folder / "my-drill.toml").read_text(encoding="utf-8") == changed
    assert (folder / "my-drill.toml.before").read_text(encoding="utf-8") == TEXT
    assert sorted(path.name for path in folder.iterdir()) == ["my-drill.toml", "my-drill.toml.before"]
