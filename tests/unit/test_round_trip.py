"""From one computer to another and from one version to the next: the recording is what counts, and the numbers come out of it."""

from __future__ import annotations

import hashlib
import time
import zipfile
from datetime import UTC, datetime
from itertools import islice

import pytest
from sqlalchemy import delete, select
from store_samples import rows, store

from fusion.outputs.instant import Phase
from sensors.events import DrillSet, NoteWritten, RepMark, RepMarked
from sensors.profiles.load import load_profile
from sensors.profiles.open_imu import NAME, OPEN_IMU
from sensors.profiles.registry import PROFILES
from sensors.record.reader import read_events, read_head
from sensors.record.recover import recover
from sensors.record.writer import Recorder, offset_here_s
from server.analysis.analysis import Analysis
from server.answer.form import Answer
from server.cli.demo_recording import demo_recording
from server.drills import our_drills
from server.store import looking
from server.store.answers import take_answer
from server.store.database import Database
from server.store.fill import fill
from server.store.notes import FIRST_LATER, LaterNote, add_note
from server.store.schema import NOTE, PRACTICE
from server.store.shelf import Shelf, work_out

EVENING = datetime(2026, 6, 1, 20, 0, tzinfo=UTC)
"""In Tokyo, nine hours ahead of UTC, it is the morning of the second by then."""


@pytest.fixture(scope="module")
def recording(tmp_path_factory):
    """The first half of the demo, as somebody in Tokyo would have recorded it."""
    path = tmp_path_factory.mktemp("tokyo") / "morning.mcap"
    wall_ns = int(EVENING.timestamp()) * 1_000_000_000
    with Recorder(path, wall_clock_ns=lambda: wall_ns, utc_offset_s=lambda _: 9 * 3600) as recorder:
        for n, event in enumerate(islice(read_events(demo_recording()), 6000)):
            recorder.write(event)
            if n == 0:
                drill = next(one for one in our_drills() if one.id == "1-quiet-wrist")
                recorder.write(DrillSet(arrival_ns=event.arrival_ns, text=drill.text))
                recorder.write(RepMarked(arrival_ns=event.arrival_ns, rep=2, mark=RepMark.GOOD, by="coach"))
                recorder.write(NoteWritten(arrival_ns=event.arrival_ns, text="Ünhurried", by="coach"))
    return path


@pytest.fixture
def here(monkeypatch):
    """A computer in another zone."""

    def to(zone):
        monkeypatch.setenv("TZ", zone)
        time.tzset()

    yield to
    monkeypatch.undo()
    time.tzset()


def known(place):
    """That, and what the files of its swings hold."""
    everything = rows(place)
    shelf = Shelf.of(Database(place))
    (practice,) = everything[0]["practices"]
    return everything, [shelf.read(practice["key"], rep["number"]) for rep in practice["reps"]]


def plainly(known_there):
    """What counts of that: not where the files lie."""
    everything, swings = known_there
    for one in everything:
        for practice in one["practices"]:
            for file in practice["recordings"]:
                file.pop("path")
    return everything, [swing.columns for swing in swings]


@pytest.fixture(scope="module")
def exported(recording, tmp_path_factory):
    """A store with what people wrote afterwards, and the export of its player."""
    folder = tmp_path_factory.mktemp("exported")
    place = folder / "first.sqlite"
    with pytest.MonkeyPatch.context() as here:
        here.setenv("TZ", "America/New_York")
        store("fill", recording.parent, "--store", place)
    database = Database(place)
    drill = next(one for one in our_drills() if one.id == "3-flatter-shaft")
    with database.writing() as connection:
        ((practice_id, _),) = connection.execute(select(PRACTICE.c.id, PRACTICE.c.key))
        pinned = LaterNote(
            at_unix_s=1.8e9 + 1 / 3, author="Wenna", text="Hier \u2713", rep=2, after_takeaway_s=0.1 + 0.2
        )
        add_note(connection, practice_id, pinned)
        answer = Answer(
            author="Wenna",
            written_unix_s=1.8e9,
            priority="Flat until the shaft is level",
            notes=[],
            drill_text=drill.text,
        )
        take_answer(connection, practice_id, answer)
    database.close()
    (player,) = rows(place)
    store("export", player["player"], "-o", folder / "player.zip", "--store", place)
    return place, folder / "player.zip"


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="the zone of a process cannot be set on Windows")
def test_recorded_stored_exported_and_taken_in_elsewhere(exported, tmp_path, here):
    first, export = exported
    here("Pacific/Kiritimati")
    second, folder = tmp_path / "second.sqlite", tmp_path / "received"
    said = store("import", export, "--folder", folder, "--store", second)
    assert "1 new practices, 0 known already, 3 new notes, 1 new answers, 1 recordings." in said
    shelf = Shelf.of(Database(second))  # worked out anew from the recording that came along, when somebody first looks
    (player,) = rows(first)
    (practice,) = player["practices"]
    (file,) = folder.glob("*.mcap")
    assert hashlib.sha256(file.read_bytes()).hexdigest() == practice["recordings"][0]["sha256"]
    work_out(shelf, practice["key"], file, lambda _: None)
    assert (practice["day"], practice["utc_offset_s"], practice["offset_assumed"]) == ("2026-06-02", 32400, False)
    assert len(practice["reps"]) > 2
    assert {note["kind"] for note in practice["notes"]} == {"note", "mark"}
    assert practice["answers"][0]["drill_text"]
    assert practice["reps"][0]["club"] in player["clubs"]
    assert plainly(known(second)) == plainly(known(first))

    before = [path.read_bytes() for path in (second, file)]
    assert "0 new practices, 1 known already, 0 new notes, 0 new answers, 0 recordings." in store(
        "import", export, "--folder", folder, "--store", second
    )
    assert plainly(known(second)) == plainly(known(first))
    assert list(folder.iterdir()) == [file]
    assert file.read_bytes() == before[1]
    database = Database(second)  # written on both sides, and taken in once more: both notes stand, each once
    with database.writing() as connection:
        other = LaterNote(at_unix_s=1.9e9, author="Jory", text="mine", rep=None, after_takeaway_s=None)
        connection.execute(delete(NOTE).where(NOTE.c.number >= FIRST_LATER))
        add_note(connection, 1, other)
    database.close()
    assert "1 new notes" in store("import", export, "--folder", folder, "--store", second)
    (there,) = rows(second)
    assert [note["text"] for note in there["practices"][0]["notes"]][-2:] == ["mine", "Hier \u2713"]

    unpacked = tmp_path / "unpacked"
    with zipfile.ZipFile(
        export
    ) as archive:  # the other computer's own tool: the recordings alone give the same numbers
        archive.extractall(unpacked)
    store("fill", unpacked, "--store", tmp_path / "third.sqlite")
    (filled,) = rows(tmp_path / "third.sqlite")
    assert filled["practices"][0]["reps"] == practice["reps"]


def test_a_recording_that_does_not_say_its_zone_is_told_from_one_that_does(recording, tmp_path):
    assert read_head(recording).utc_offset_s == 32400
    assert read_head(demo_recording()).utc_offset_s is None
    recover([recording], tmp_path / "whole.mcap")
    assert read_head(tmp_path / "whole.mcap").utc_offset_s == 32400
    now = datetime.now().astimezone()
    assert offset_here_s(now.timestamp()) == now.utcoffset().total_seconds()
    database = Database(tmp_path / "store.sqlite")
    with Recorder(tmp_path / "old.mcap") as recorder:
        for event in islice(read_events(demo_recording()), 6000):
            recorder.write(event)
    (filled,) = fill(database, [tmp_path / "old.mcap"])
    assert filled.outcome == "stored"
    with database.reading() as connection:
        (row,) = looking.practices(connection, player=None, limit=1, after=None)
    assert row["offset_assumed"] is True
    database.close()


def tops(place, recording):
    """Bend at the top of each rep, as a store has it that is filled now."""
    database = Database(place)
    list(fill(database, [recording], shelf=Shelf.of(database)))
    with database.reading() as connection:
        (practice,) = looking.practices(connection, player=None, limit=1, after=None)
        choice, by_number = looking.RepChoice(), looking.Sorting()
        reps = looking.reps(connection, practice["id"], choice=choice, sorting=by_number, limit=99, after=None)
    has = Shelf.of(database).has(practice["key"])
    database.close()
    marks = [mark for rep in reps for mark in rep["marks"] if mark["name"] == "top"]
    return practice, [mark["bend_change_deg"] for mark in marks], has


def test_an_old_recording_after_the_decoder_was_mended(recording, tmp_path, monkeypatch):
    """A version whose decoder read the gyroscopes 3 % short: its numbers were wrong, its recording is not."""
    before = hashlib.sha256(recording.read_bytes()).hexdigest()
    short = load_profile(OPEN_IMU.text.replace("full_scale = 32768", "full_scale = 33781", 1), f"{NAME}.toml")
    with monkeypatch.context() as then:
        then.setitem(PROFILES, NAME, short)
        then.setattr("server.store.swings.analysis_version", lambda: "0.0.9")
        _, wrong, had = tops(tmp_path / "then.sqlite", recording)
        assert had
    practice, right, has = tops(tmp_path / "now.sqlite", recording)
    analysis = Analysis(recording)
    for _ in analysis.run(None):
        pass
    expected = [rep.checkpoints[Phase.TOP].angles.bend_change_rad for rep in analysis.reps]
    assert right == [pytest.approx(57.29577951308232 * bend, abs=1e-12) for bend in expected]
    assert max(abs(a - b) for a, b in zip(wrong, right, strict=True)) > 0.5
    assert has
    database = Database(tmp_path / "then.sqlite")
    assert not Shelf.of(database).has(practice["key"])  # made by another version: worked out anew when it is asked for
    database.close()
    assert hashlib.sha256(recording.read_bytes()).hexdigest() == before
