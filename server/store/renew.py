"""Practices that an older analysis worked out are worked out anew, from their recordings.

Rule 1: what people wrote stays: notes, marks, answers. One that belongs to a rep goes with its swing, also when the swing has
another number now; where the swing is no longer found, it stays as a note of the practice.
Rule 2: what cannot be done better is left as it is: where the recording is gone, changed or only in part there, or no swing is
found in it now.
Rule 3: a practice is written whole or not at all, so it can be stopped at any time and goes on where it was.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Final

from sqlalchemy import Connection, delete, func, select, update

from sensors.errors import SensorsError
from sensors.record.reader import ReadReport, read_head
from server.analysis.host_clock import HostClock
from server.analysis.version import analysis_version
from server.file_advice import cause_of
from server.store.archive import still_there
from server.store.database import Database
from server.store.fill import practice_in
from server.store.looking import recordings
from server.store.records import Remembered
from server.store.schema import NOTE, PRACTICE, REP, STINT
from server.store.shelf import Shelf
from server.store.write import write_swings

_SAME_SWING_S: Final = 1.0
"""Two swings are never so near to each other; an analysis that is bettered dates a takeaway otherwise by much less."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Renewed:
    """One practice that was gone through."""

    day: str
    problem: str
    """Why it is not of this version now, a clause; empty when it is."""


def n_older(connection: Connection) -> int:
    """How many practices another version has worked out."""
    return int(
        connection.execute(select(func.count()).where(PRACTICE.c.program_version != analysis_version())).scalar_one()
    )


def renew(
    database: Database, *, report: Callable[[int, ReadReport], None] = lambda _n_done, _reading: None
) -> Iterator[Renewed]:
    """Go through the older ones, newest first; `report` as for `fill`. Raises `StoreError`."""
    with database.reading() as connection:
        asked = select(PRACTICE.c.id, PRACTICE.c.key, PRACTICE.c.day).order_by(PRACTICE.c.begun_unix_s.desc())
        older = connection.execute(asked.where(PRACTICE.c.program_version != analysis_version())).all()
    for n_done, practice in enumerate(older):
        problem = _problem_of(database, practice.id, practice.key, partial(report, n_done))
        yield Renewed(day=practice.day, problem=problem)


def _problem_of(database: Database, practice_id: int, key: str, report: Callable[[ReadReport], None]) -> str:
    """Work one practice out; gives a clause where that cannot be."""
    with database.reading() as connection:
        files = recordings(connection, practice_id)
    problem = "its recording is not where it was, or has changed"
    for file in files:
        path = Path(file["path"])
        if not still_there(path, file["sha256"]):
            continue
        try:
            problem = _work_out(database, practice_id, key, path, report)
        except (SensorsError, OSError) as error:
            problem = f"{path} cannot be worked out, {cause_of(error)}"
        if not problem:
            break
    return problem


def _work_out(database: Database, practice_id: int, key: str, path: Path, report: Callable[[ReadReport], None]) -> str:
    """Do it from one file; gives a clause where that does not hold the practice."""
    head = read_head(path)
    with Shelf.of(database).filing(HostClock(head.notes)) as filing:
        found = practice_in(path, head, reading=ReadReport(), report=report, swings=filing.swings)
        if found is None or found.practice.key != key:  # the second file of a practice
            return "no swing is found in its recording now"
        with database.writing() as connection:
            n_packets = connection.execute(
                select(PRACTICE.c.n_packets).where(PRACTICE.c.id == practice_id)
            ).scalar_one()
            if found.practice.n_packets < n_packets:
                return "only a part of its recording is there"
            put_in_place(connection, practice_id, found)
        filing.key = key
    return ""


def put_in_place(connection: Connection, practice_id: int, found: Remembered) -> None:
    """Write the swings of a practice anew, and lead what was written about them to where they are now."""
    player_id = connection.execute(select(PRACTICE.c.player_id).where(PRACTICE.c.id == practice_id)).scalar_one()
    before = dict(
        connection.execute(select(REP.c.number, REP.c.takeaway_s).where(REP.c.practice_id == practice_id)).all()
    )
    connection.execute(delete(STINT).where(STINT.c.practice_id == practice_id))  # with blocks, reps and marks
    write_swings(connection, practice_id, player_id, found)
    now = {rep.values.index: rep.values.takeaway_s for rep in found.reps}
    notes = connection.execute(select(NOTE.c.id, NOTE.c.rep_number).where(NOTE.c.practice_id == practice_id)).all()
    for note_id, was in notes:
        number = _found_again(before[was], now) if was in before else was
        if number is None:
            values = {"rep_number": None, "after_takeaway_s": None}
            connection.execute(update(NOTE).where(NOTE.c.id == note_id).values(**values))
        elif number != was:
            connection.execute(update(NOTE).where(NOTE.c.id == note_id).values(rep_number=number))
    connection.execute(
        update(PRACTICE).where(PRACTICE.c.id == practice_id).values(program_version=found.practice.program_version)
    )


def _found_again(takeaway_s: float, now: dict[int, float]) -> int | None:
    """Give the number that a swing has now."""
    nearest = min(now, key=lambda number: abs(now[number] - takeaway_s))
    return nearest if abs(now[nearest] - takeaway_s) < _SAME_SWING_S else None
