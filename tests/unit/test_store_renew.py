"""What an older analysis put into the store is worked out anew; nothing that people wrote is lost."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing

import pytest
from sqlalchemy import insert, select
from store_samples import store

import fusion
from server.analysis.version import analysis_version
from server.store.database import Database
from server.store.notes import LaterNote, add_note
from server.store.schema import ANSWER, PRACTICE
from server.store.shelf import Shelf
from tests.replaying import recorded
from tests.virtual import virtual_run


def run(*words, place):
    return store(*words, "--store", place)


def rows(place, query):
    with closing(sqlite3.connect(place)) as connection:
        return connection.execute(query).fetchall()


REPS = """SELECT rep.number, takeaway_s, verdict, worst, mark.name, mark.at_s, mark.bend_change_deg, mark.shaft_pitch_deg_sd
          FROM rep JOIN mark ON mark.rep_id = rep.id ORDER BY rep.number, mark.at_s"""
NOTES = "SELECT text, rep_number, after_takeaway_s FROM note ORDER BY number"


@pytest.fixture(scope="module")
def filled(tmp_path_factory):
    folder = tmp_path_factory.mktemp("filled")
    recorded(folder / "recordings" / "a.mcap", virtual_run(3, 2).events)
    run("fill", folder / "recordings", place=folder / "store.sqlite")
    return folder


@pytest.fixture
def old(filled, tmp_path):
    """The store as an older version would have left it: it took a waggle for a swing, and read all angles otherwise."""
    place = tmp_path / "old.sqlite"
    shutil.copy(filled / "store.sqlite", place)
    others = "practice_id, stint_id, kind, verdict, out_s, backswing_s, quality, flags"
    with closing(sqlite3.connect(place)) as connection, connection:
        connection.execute("UPDATE practice SET program_version = '0.0.9+0123456789ab'")
        connection.execute("UPDATE rep SET number = number + 10")
        connection.execute("UPDATE rep SET number = number - 9")
        connection.execute(
            f"INSERT INTO rep (number, takeaway_s, {others}) SELECT 1, takeaway_s - 5, {others} FROM rep WHERE number = 2"
        )
        connection.execute("UPDATE mark SET bend_change_deg = bend_change_deg - 30, at_s = at_s + 0.01")
    return place


def write_to(place):
    """What a coach wrote: of the second swing, of the one that was none, and of the practice."""
    database = Database(place)
    with database.writing() as connection:
        (practice_id,) = connection.execute(select(PRACTICE.c.id)).scalars()
        for text, rep, after_s in (("late", 3, 0.4), ("good waggle", 1, 0.1), ("a fine evening", None, None)):
            add_note(
                connection,
                practice_id,
                LaterNote(at_unix_s=1.0, author="Coach", text=text, rep=rep, after_takeaway_s=after_s),
            )
        connection.execute(
            insert(ANSWER).values(practice_id=practice_id, author="Coach", written_unix_s=2.0, priority="bow it sooner")
        )
    database.close()


def test_older_practices_are_told_and_worked_out_anew_with_what_was_written(old, filled):
    fresh = filled / "store.sqlite"
    write_to(old)
    assert rows(old, REPS) != rows(fresh, REPS)
    assert "1 practice was worked out by another version" in run("list", place=old)
    assert "another version" not in run("list", place=fresh)
    assert "1 worked out anew, 0 left as they are." in run("renew", place=old)
    assert rows(old, REPS) == rows(fresh, REPS)
    assert [row[0] for row in rows(old, "SELECT program_version FROM practice")] == [analysis_version()]
    assert rows(old, NOTES) == [("late", 2, 0.4), ("good waggle", None, None), ("a fine evening", None, None)]
    assert rows(old, "SELECT author, priority FROM answer") == [("Coach", "bow it sooner")]
    database = Database(old)
    (key,) = (row[0] for row in rows(old, "SELECT key FROM practice"))
    assert Shelf.of(database).has(key)
    database.close()
    assert "0 worked out anew, 0 left" in run("renew", place=old)


def test_what_cannot_be_done_better_stays_as_it_is(old, filled):
    before = rows(old, REPS)
    recording = filled / "recordings" / "a.mcap"
    whole = recording.read_bytes()
    recording.unlink()
    assert "its recording is not where it was" in run("renew", place=old)
    recording.write_bytes(whole)
    with closing(sqlite3.connect(old)) as connection, connection:
        connection.execute("UPDATE practice SET n_packets = n_packets + 1")  # a longer one was there before
    said = run("renew", place=old)
    assert "only a part of its recording is there" in said
    assert "0 worked out anew, 1 left as they are." in said
    assert rows(old, REPS) == before


def test_the_version_follows_the_code_by_itself(tmp_path, monkeypatch):
    def version_with(code):
        (tmp_path / "deep").mkdir(exist_ok=True)
        (tmp_path / "__init__.py").write_bytes(b"")
        (tmp_path / "deep" / "angles.py").write_bytes(code)
        monkeypatch.setattr(fusion, "__file__", str(tmp_path / "__init__.py"))
        return analysis_version.__wrapped__()

    assert version_with(b"HALF = 0.5\n") == version_with(b"HALF = 0.5\r\n")
    assert version_with(b"HALF = 0.5\n") != version_with(b"HALF = 0.6\n")
    assert version_with(b"HALF = 0.5\n").split("+")[0] == analysis_version().split("+")[0]
    assert len(analysis_version()) <= 60  # what the store has room for
