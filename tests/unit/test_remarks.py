"""Marks, notes and messages: recorded, told, in hello, replayed; and no number moves by them."""

from __future__ import annotations

import pytest

from fusion.outputs.rep import Rep
from sensors.events import MessageSaid, NoteWritten, RepMark, RepMarked
from sensors.record.reader import ReadReport, read_events
from sensors.record.summary import Summariser
from server.present import KEPT_NOTES, KEPT_SAID
from server.remarks import MAX_NOTE, MAX_SAID
from server.tape import Tape
from server.wire_lesson import MarkRepMessage, SayMessage, WriteNoteMessage
from tests.e2e import samples
from tests.live_service import DEMO, REPLAY, drain, packet
from tests.unit.test_demo_recording import FOLDER, NAME
from tests.unit.test_engine import Practice, types
from tests.virtual import run_pipeline, virtual_run

MARK = MarkRepMessage(rep=2, mark=RepMark.LOOK)
NOTE = WriteNoteMessage(text="  Grip a little\n weaker. ", rep=1)
SAY = SayMessage(text="Slower going back.")


async def begun(practice):
    """Two reps have been swung."""
    await practice.play(packet(b"", 500))
    for index in (1, 2):
        practice.engine.hub.publish(samples.rep(index))
    await practice.heard()


def add(practice, *messages):
    return [practice.engine.add(message, by="Ada") for message in messages]


async def test_they_are_recorded_told_and_in_hello(tmp_path):
    practice = Practice(tape=Tape(tmp_path / "a.mcap"))
    async with practice.running():
        await begun(practice)
        assert add(practice, MARK, NOTE, SAY) == [None] * 3
        told = await practice.heard()
        (hello, *_) = await drain(practice.engine.hub.join())
    mark, note, said = told
    assert types(told) == ["rep_mark", "note", "said"]
    assert (mark["rep"], mark["mark"], mark["by"]) == (2, "look", "Ada")
    assert (note["id"], note["text"], note["rep"]) == (1, "Grip a little weaker.", 1)
    assert (said["id"], said["text"]) == (1, "Slower going back.")
    assert (hello["marks"], hello["notes"], hello["said"]) == ([mark], [note], [said])
    recorded = [e for e in read_events(tmp_path / "a.mcap") if isinstance(e, RepMarked | NoteWritten | MessageSaid)]
    at = recorded[0].arrival_ns
    assert recorded == [
        RepMarked(arrival_ns=at, rep=2, mark=RepMark.LOOK, by="Ada"),
        NoteWritten(arrival_ns=at, text="Grip a little weaker.", rep=1, by="Ada"),
        MessageSaid(arrival_ns=at, text="Slower going back.", by="Ada"),
    ]


async def test_a_replay_tells_them_as_they_were():
    practice = Practice(view=REPLAY)
    async with practice.running():
        told = await practice.play(
            packet(b"", 10),
            RepMarked(arrival_ns=20, rep=2, mark=RepMark.GOOD, by="Ada"),
            NoteWritten(arrival_ns=30, text="Good tempo."),
            MessageSaid(arrival_ns=40, text="Once more."),
        )
    assert [(m["type"], m.get("text") or m["mark"], m.get("rep")) for m in told] == [
        ("rep_mark", "good", 2), ("note", "Good tempo.", None), ("said", "Once more.", None),
    ]  # fmt: skip


async def test_a_mark_is_changed_and_taken_away_and_all_are_forgotten_at_a_new_beginning():
    practice = Practice(view=DEMO, repeat=True)
    async with practice.running():
        await begun(practice)
        marks = []
        for mark in (RepMark.LOOK, RepMark.GOOD, RepMark.NONE, RepMark.GOOD):
            add(practice, MarkRepMessage(rep=1, mark=mark))
            (hello, *_) = await drain(practice.engine.hub.join())
            marks.append([one["mark"] for one in hello["marks"]])
        assert marks == [["look"], ["good"], [], ["good"]]
        add(practice, NOTE, SAY)
        practice.sources[-1].end()
        await practice.until("end")
        (hello, *_) = await drain(practice.engine.hub.join())
    assert (hello["marks"], hello["notes"], hello["said"]) == ([], [], [])


async def test_hello_has_the_newest_of_many():
    practice = Practice()
    async with practice.running():
        await begun(practice)
        for _ in range(KEPT_NOTES + 3):
            add(practice, NOTE, SAY)
        (hello, *_) = await drain(practice.engine.hub.join())
    assert [one["id"] for one in hello["notes"]] == list(range(4, KEPT_NOTES + 4))
    assert [one["id"] for one in hello["said"]] == list(range(KEPT_NOTES + 4 - KEPT_SAID, KEPT_NOTES + 4))


@pytest.mark.parametrize(
    ("message", "code"),
    [
        (MarkRepMessage(rep=3, mark=RepMark.GOOD), "no_such_rep"),
        (WriteNoteMessage(text="x", rep=3), "no_such_rep"),
        (WriteNoteMessage(text=" \n\t", rep=None), "text_refused"),
        (WriteNoteMessage(text="x" * (MAX_NOTE + 1), rep=None), "text_refused"),
        (SayMessage(text="x" * (MAX_SAID + 1)), "text_refused"),
        (SayMessage(text="a\x07b"), "text_refused"),
        (SayMessage(text="a\u202eb"), "text_refused"),
        (SayMessage(text="x" * MAX_SAID), None),
        (WriteNoteMessage(text="Zwölf Schläge, 良い 👩\u200d🏫", rep=None), None),
    ],
)
async def test_what_cannot_be_added_leaves_no_trace(tmp_path, message, code):
    practice = Practice(tape=Tape(tmp_path / "a.mcap"))
    async with practice.running():
        await begun(practice)
        (problem,) = add(practice, message)
        told = await practice.heard()
    assert (problem.code if problem else None) == code
    events = [e for e in read_events(tmp_path / "a.mcap") if isinstance(e, RepMarked | NoteWritten | MessageSaid)]
    assert (len(told), len(events)) == ((0, 0) if code else (1, 1))


async def test_before_the_first_event_of_a_recording_there_is_nothing_to_remark_on():
    practice = Practice(view=REPLAY)
    async with practice.running():
        assert add(practice, SAY)[0].code == "not_begun"


def test_no_number_moves_by_them():
    run = virtual_run(3, 4)
    remarked = []
    for i, event in enumerate(run.events):
        remarked.append(event)
        if i % 50 == 7:
            at = event.arrival_ns
            remarked += [
                RepMarked(arrival_ns=at, rep=1, mark=RepMark.LOOK),
                NoteWritten(arrival_ns=at, text="Note."),
                MessageSaid(arrival_ns=at, text="Said."),
            ]
    assert len(remarked) > len(run.events) + 100
    assert len(run.reps) == 4
    outputs = run_pipeline(remarked)
    assert sum(isinstance(output, Rep) for output in outputs) == 4
    assert repr(outputs) == repr(run.outputs)  # of floats, repr shows every bit; NaN is not equal to itself


def test_a_recording_of_before_there_were_any_is_read_and_has_none():
    report, summariser = ReadReport(), Summariser()
    for event in read_events(FOLDER / f"{NAME}.mcap", report=report):
        summariser.push(event)
    assert report.is_clean
    assert summariser.summary().remarks == ()


def test_a_summary_lists_them_in_time():
    summariser = Summariser()
    note = NoteWritten(arrival_ns=3_500_000_000, text="Note.")
    for event in (packet(b"", 1_000_000_000), note):
        summariser.push(event)
    (remark,) = summariser.summary().remarks
    assert (remark.at_s, remark.event) == (2.5, note)
