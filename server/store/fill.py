"""Recordings that are not in the store yet are worked out and put there: by the live pipeline, so by the same numbers.

Rule 1: a file is known by its content. One that is there is passed over, wherever it lies now; its place is noted anew.
Rule 2: of two recordings of one practice the fuller one counts: a copy that was cut off does not take the place of the whole.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from functools import partial
from pathlib import Path

from sqlalchemy import Connection, func, select, update

from fusion.pipeline import Pipeline
from sensors.errors import SensorsError
from sensors.record import format as fmt
from sensors.record.reader import ReadReport, RecordingHead, read_events, read_head
from sensors.record.watched import watched
from server.analysis.host_clock import HostClock
from server.answer.form import AnswerInvalid
from server.answer.read import read_answer
from server.drills import default_drill
from server.file_advice import cause_of
from server.file_hash import sha256_of
from server.store.answers import take_answer
from server.store.database import Database
from server.store.ledger import Ledger, wall_of
from server.store.records import RecordingRecord, Remembered
from server.store.schema import PRACTICE, RECORDING, REP
from server.store.shelf import Shelf
from server.store.swings import SwingsFile
from server.store.write import write, write_recording


class Outcome(StrEnum):
    """What became of one file."""

    STORED = "stored"
    KNOWN = "known"
    MATCHED = "matched"
    """Its practice was there already, and is now known to be in this file."""
    NO_REPS = "no_reps"
    PART = "part"
    """It goes on from another file: the two are one practice."""
    UNREADABLE = "unreadable"


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """One file, and what became of it."""

    path: Path
    outcome: Outcome
    problem: str = ""
    """Why it cannot be read, a clause; or the file that it goes on from."""
    report: ReadReport | None = None
    """What reading it found, where it was worked out."""


def fill(
    database: Database,
    paths: list[Path],
    *,
    report: Callable[[int, ReadReport], None] = lambda _n_done, _reading: None,
    shelf: Shelf | None = None,
) -> Iterator[Filled]:
    """Go through the files, oldest first. Raises `StoreError`; a file that cannot be read is an outcome.

    `report` is told now and then how many files are done, and how far the one in hand is read. With a `shelf` every instant of
    the swings is put there in the same pass.
    """
    for n_done, path in enumerate(sorted(paths, key=lambda path: path.name)):
        try:
            yield _fill_one(database, path, partial(report, n_done), shelf)
        except (SensorsError, OSError) as error:
            yield Filled(path=path, outcome=Outcome.UNREADABLE, problem=cause_of(error))


def _fill_one(database: Database, path: Path, report: Callable[[ReadReport], None], shelf: Shelf | None) -> Filled:
    head = read_head(path)
    recording = recording_of(path)
    continues = head.notes.get(fmt.CONTINUES_NOTE, "")
    with database.writing() as connection:
        known = select(RECORDING.c.id).where(RECORDING.c.sha256 == recording.sha256)
        known_id = connection.execute(known).scalar_one_or_none()
        if known_id is not None:
            connection.execute(update(RECORDING).where(RECORDING.c.id == known_id).values(path=recording.path))
            return Filled(path=path, outcome=Outcome.KNOWN)
        if continues:
            _add_part(connection, (path.parent / continues).resolve(), recording)
            return Filled(path=path, outcome=Outcome.PART, problem=continues)
    reading = ReadReport()
    if shelf is None:
        return _put(database, path, recording, practice_in(path, head, reading=reading, report=report), reading)
    with shelf.filing(HostClock(head.notes)) as filing:
        found = practice_in(path, head, reading=reading, report=report, swings=filing.swings)
        filled = _put(database, path, recording, found, reading)
        if found is not None and filled.outcome is Outcome.STORED:
            filing.key = found.practice.key
        return filled


def _put(
    database: Database, path: Path, recording: RecordingRecord, found: Remembered | None, reading: ReadReport
) -> Filled:
    if found is None:
        return Filled(path=path, outcome=Outcome.NO_REPS, report=reading)
    with database.writing() as connection:
        there = connection.execute(
            select(PRACTICE.c.id, func.count(REP.c.id))
            .join(REP, isouter=True)
            .where(PRACTICE.c.key == found.practice.key)
            .group_by(PRACTICE.c.id)
        ).one_or_none()
        if there is not None and there[1] >= len(found.reps):
            write_recording(connection, there[0], recording)
            _take_answer(connection, there[0], path)
            return Filled(path=path, outcome=Outcome.MATCHED, report=reading)
        practice_id = write(connection, found)
        write_recording(connection, practice_id, recording)
        _take_answer(connection, practice_id, path)
    return Filled(path=path, outcome=Outcome.STORED, report=reading)


def _take_answer(connection: Connection, practice_id: int, path: Path) -> None:
    """A coach's answer in the file goes along; one that cannot be used does not keep the practice out."""
    with contextlib.suppress(AnswerInvalid):
        answer = read_answer(path)
        if answer is not None:
            take_answer(connection, practice_id, answer)


def _add_part(connection: Connection, begun: Path, recording: RecordingRecord) -> None:
    """Note a file that goes on from another, so that it is exported and forgotten with it."""
    of = select(RECORDING.c.practice_id).where(RECORDING.c.path == str(begun)).limit(1)
    practice_id = connection.execute(of).scalar_one_or_none()
    if practice_id is not None:
        write_recording(connection, practice_id, recording)


def practice_in(
    path: Path,
    head: RecordingHead,
    *,
    reading: ReadReport,
    report: Callable[[ReadReport], None] = lambda _: None,
    swings: SwingsFile | None = None,
) -> Remembered | None:
    """Work a recording out with the live pipeline; None when nobody swings in it."""
    ledger = Ledger(wall_s=_wall_s(path, head), notes=head.notes, utc_offset_s=head.utc_offset_s)
    pipeline = Pipeline(default_drill(), series=swings is not None)
    for event in watched(read_events(path, report=reading), lambda: report(reading)):
        outputs = pipeline.push(event)
        ledger.push(event, outputs, pipeline)
        if swings is not None:
            swings.push(event, outputs)
    if swings is not None:
        swings.take(pipeline.close())
    return ledger.take()


def recording_of(path: Path) -> RecordingRecord:
    """Say by what a file is known."""
    return RecordingRecord(path=str(path.resolve()), sha256=sha256_of(path), size_bytes=path.stat().st_size)


def _wall_s(path: Path, head: RecordingHead) -> Callable[[int], float]:
    """The time of day: as the recorder noted it; else when the recording was made; else when the file was last written."""
    if head.wall_minus_host_ns is not None:
        return wall_of(head.wall_minus_host_ns)
    try:
        begun_s = datetime.fromisoformat(head.created).timestamp()
    except ValueError:
        begun_s = path.stat().st_mtime
    return wall_of(round(begun_s * 1e9) - (head.host_start_ns or 0))
