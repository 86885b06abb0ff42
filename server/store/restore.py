"""Puts an export into the store: what is missing there is added, and nothing that is there is taken away.

Rule 1: all of it or nothing: one transaction, and files that were put in place are gone again when it fails.
Rule 2: taken in again, it changes nothing. Of two workings-out of the same practice the one with more reps counts, as in `fill`.
"""

from __future__ import annotations

import contextlib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, delete, func, insert, select, update

from sensors.record.paths import plain_name
from server.store.archive import name_in, still_there
from server.store.archive_read import ExportInvalid, Unpacked, unpacked
from server.store.database import Database
from server.store.notes import FIRST_LATER
from server.store.records import RecordingRecord
from server.store.schema import (
    ANSWER,
    BLOCK,
    CLUB,
    DRILL,
    MARK,
    NOTE,
    PLAYER,
    PRACTICE,
    RECORDING,
    REP,
    SENSOR,
    STINT,
    WORN,
)
from server.store.write import add, find, put, write_recording
from server.whole_file import remove_quietly


@dataclass(slots=True, kw_only=True)
class Restored:
    """What came of it."""

    player: str
    n_practices: int = 0
    n_new: int = 0
    """Practices that were not there."""
    n_notes: int = 0
    n_answers: int = 0
    n_recordings: int = 0
    """Files that were put in place."""
    missing: list[str] = field(default_factory=list)
    """Recordings that the export lists and does not hold, and that are not here either."""


def restore(database: Database, place: Path, folder: Path) -> Restored:
    """Take an export in; its recordings go into `folder`. Raises `ExportInvalid`, `StoreError`, or OSError for the disk."""
    with unpacked(place, folder) as export, contextlib.ExitStack() as when_it_fails:
        with database.writing() as connection:
            restoring = _Restoring(connection, export, folder, when_it_fails)
            for practice in export.about["practices"]:
                restoring.practice(practice)
        when_it_fails.pop_all()
        return restoring.came


class _Restoring:
    """One export on its way into a store."""

    def __init__(
        self, connection: Connection, export: Unpacked, folder: Path, when_it_fails: contextlib.ExitStack
    ) -> None:
        about = export.about
        self.came = Restored(player=about["player"], n_practices=len(about["practices"]))
        self._connection = connection
        self._files = export.files
        self._folder = folder
        self._when_it_fails = when_it_fails
        self._player_id = put(connection, PLAYER, {"name": about["player"]}, {})
        self._clubs = {one["name"]: self._club(one) for one in about["clubs"]}

    def practice(self, practice: dict[str, Any]) -> None:
        """Take in one."""
        connection = self._connection
        here = connection.execute(select(PRACTICE).where(PRACTICE.c.key == practice["key"])).mappings().one_or_none()
        if here is None:
            practice_id = self._new(practice)
        elif here["player_id"] != self._player_id:
            raise ExportInvalid(f"its practice of {practice['day']} stands in the store under another player's name")
        else:
            practice_id = int(here["id"])
            n_here = connection.execute(select(func.count()).where(REP.c.practice_id == practice_id)).scalar_one()
            if len(practice["reps"]) > n_here:  # the one here is of a recording that was cut off
                connection.execute(delete(STINT).where(STINT.c.practice_id == practice_id))
                connection.execute(
                    update(PRACTICE).where(PRACTICE.c.id == practice_id).values(**_of(PRACTICE, practice))
                )
                self._reps(practice_id, practice)
        self.came.n_notes += _notes(connection, practice_id, practice["notes"])
        for answer in practice["answers"]:
            known_by = {"practice_id": practice_id, **{name: answer[name] for name in ("author", "written_unix_s")}}
            if find(connection, ANSWER, known_by) is None:
                add(connection, ANSWER, known_by | answer)
                self.came.n_answers += 1
        for recording in practice["recordings"]:
            self._recording(practice_id, recording)

    def _new(self, practice: dict[str, Any]) -> int:
        self.came.n_new += 1
        practice_id = add(self._connection, PRACTICE, {"player_id": self._player_id, **_of(PRACTICE, practice)})
        for sensor in practice["sensors"]:
            worn = {"sensor_id": _there(self._connection, SENSOR, sensor, "address"), "role": sensor["role"]}
            add(self._connection, WORN, {"practice_id": practice_id, **worn})
        self._reps(practice_id, practice)
        return practice_id

    def _reps(self, practice_id: int, practice: dict[str, Any]) -> None:
        stints: dict[int, int] = {}
        blocks: dict[tuple[int, int], int] = {}
        for stint in practice["stints"]:
            of = {"practice_id": practice_id, "drill_id": _there(self._connection, DRILL, stint["drill"], "sha256")}
            stint_id = stints[stint["number"]] = add(self._connection, STINT, of | _of(STINT, stint))
            for block in stint["blocks"]:
                block_id = add(self._connection, BLOCK, {"stint_id": stint_id, **block})
                blocks[stint["number"], block["number"]] = block_id
        for rep in practice["reps"]:
            of = {"practice_id": practice_id, "stint_id": stints[rep["stint"]]}
            if rep["block"] is not None:
                of["block_id"] = blocks[rep["stint"], rep["block"]]
            if rep["club"] is not None:
                of["club_id"] = self._clubs.get(rep["club"]["name"]) or self._club(rep["club"])
            rep_id = add(self._connection, REP, of | _of(REP, rep))
            if rep["marks"]:
                self._connection.execute(insert(MARK), [{"rep_id": rep_id, **mark} for mark in rep["marks"]])

    def _club(self, club: dict[str, Any]) -> int:
        return _there(self._connection, CLUB, club, "name", player_id=self._player_id)

    def _recording(self, practice_id: int, listed: dict[str, Any]) -> None:
        sha256 = listed["sha256"]
        known = select(RECORDING).where(RECORDING.c.sha256 == sha256)
        row = self._connection.execute(known).mappings().one_or_none()
        if row is not None and row["practice_id"] != practice_id:
            raise ExportInvalid("one of its recordings stands in the store with another practice")
        if row is not None and still_there(Path(row["path"]), sha256):
            return
        if sha256 not in self._files:
            self.came.missing.append(listed["path"])
            return
        stem = plain_name(name_in(listed["path"]).removesuffix(".mcap"))
        place = (self._folder / f"{stem}-{sha256[:8]}.mcap").resolve()
        if not still_there(place, sha256):
            self._files[sha256].replace(place)
            self._when_it_fails.callback(remove_quietly, place)
            self.came.n_recordings += 1
        record = RecordingRecord(sha256=sha256, path=str(place), size_bytes=listed["size_bytes"])
        write_recording(self._connection, practice_id, record)


def _notes(connection: Connection, practice_id: int, notes: list[dict[str, Any]]) -> int:
    """Add those that nobody wrote here in the same words; one whose number is taken comes after the last."""
    here = list(connection.execute(select(NOTE).where(NOTE.c.practice_id == practice_id)).mappings())
    said = [column.name for column in NOTE.c if column.name not in ("id", "practice_id", "number")]
    known = {tuple(note[name] for name in said) for note in here}
    taken = {note["number"] for note in here}
    n_new = 0
    for note in notes:
        if tuple(note.get(name) for name in said) in known or (
            note["number"] in taken and note["number"] < FIRST_LATER
        ):
            continue
        number = note["number"] if note["number"] not in taken else max(taken) + 1
        taken.add(number)
        add(connection, NOTE, {"practice_id": practice_id, **note, "number": number})
        n_new += 1
    return n_new


def _there(connection: Connection, table: Table, row: dict[str, Any], known_by: str, **of: int) -> int:
    """Find a row by what it is known by, or add it; one that is there stays as it is."""
    found = find(connection, table, {**of, known_by: row[known_by]})
    return add(connection, table, {**of, **_of(table, row)}) if found is None else found


def _of(table: Table, row: dict[str, Any]) -> dict[str, Any]:
    """Leave out what an exported row tells of other tables."""
    return {name: value for name, value in row.items() if name in table.c}
