"""Puts a practice into the tables. Written again, it changes nothing: each row is found by what it is known by."""

from __future__ import annotations

import hashlib
from typing import Any

from sqlalchemy import Connection, Table, insert, select, update

from server.analysis.reps_file import MarkValues, RepRecord
from server.store.records import PracticeRecord, RecordingRecord, Remembered, RepStored, StintRecord
from server.store.schema import BLOCK, CLUB, DRILL, MARK, NOTE, PLAYER, PRACTICE, RECORDING, REP, SENSOR, STINT, WORN


def write(connection: Connection, found: Remembered) -> int:
    """Write it; gives the practice's id."""
    practice_id, player_id = _practice(connection, found.practice)
    for sensor in found.sensors:
        about = {"name": sensor.name, "profile": sensor.profile, "firmware": sensor.firmware}
        sensor_id = put(connection, SENSOR, {"address": sensor.address}, about)
        put(connection, WORN, {"practice_id": practice_id, "sensor_id": sensor_id}, {"role": sensor.role})
    write_swings(connection, practice_id, player_id, found)
    for note in found.notes:
        values = {
            "at_unix_s": note.at_unix_s, "author": note.author, "kind": note.kind, "text": note.text, "rep_number": note.rep,
        }  # fmt: skip
        put(connection, NOTE, {"practice_id": practice_id, "number": note.number}, values)
    return practice_id


def write_swings(connection: Connection, practice_id: int, player_id: int, found: Remembered) -> None:
    """Write what was worked out of a practice that is there: its drills as they were gone through, and its reps."""
    for stint in found.stints:
        _stint(connection, practice_id, stint)
    for rep in found.reps:
        _rep(connection, practice_id, player_id, rep)


def write_recording(connection: Connection, practice_id: int, recording: RecordingRecord) -> None:
    """Note a file of a practice: by its content, wherever it lies now."""
    values = {"practice_id": practice_id, "path": recording.path, "size_bytes": recording.size_bytes}
    put(connection, RECORDING, {"sha256": recording.sha256}, values)


def _practice(connection: Connection, practice: PracticeRecord) -> tuple[int, int]:
    player_id = put(connection, PLAYER, {"name": practice.player}, {})
    values = {
        "player_id": player_id,
        "provenance": practice.provenance,
        "lead_side": practice.lead_side,
        "begun_unix_s": practice.begun_unix_s,
        "utc_offset_s": practice.utc_offset_s,
        "offset_assumed": practice.offset_assumed,
        "day": practice.day,
        "duration_s": practice.duration_s,
        "n_packets": practice.n_packets,
        "program_version": practice.program_version,
    }
    return put(connection, PRACTICE, {"key": practice.key}, values), player_id


def _stint(connection: Connection, practice_id: int, stint: StintRecord) -> None:
    told = stint.text or f"{stint.drill}\n{stint.quantity}\n{stint.low!r}\n{stint.high!r}"
    drill = {
        "name": stint.drill, "quantity": stint.quantity, "unit": stint.unit, "low": stint.low,
        "high": stint.high, "text": stint.text,
    }  # fmt: skip
    drill_id = put(connection, DRILL, {"sha256": hashlib.sha256(told.encode()).hexdigest()}, drill)
    known_by = {"practice_id": practice_id, "number": stint.number}
    values = {"drill_id": drill_id, "begun_unix_s": stint.begun_unix_s}
    stint_id = put(connection, STINT, known_by, values)
    for number, block in enumerate(stint.blocks):
        counts = {
            "n_reps": block.n_reps, "cue": block.cue, "n_swung": block.n_swung, "n_cued": block.n_cued,
            "n_judged": block.n_judged, "n_in_band": block.n_in_band,
        }  # fmt: skip
        put(connection, BLOCK, {"stint_id": stint_id, "number": number}, counts)


def _rep(connection: Connection, practice_id: int, player_id: int, rep: RepStored) -> None:
    stint_id = _id_of(connection, STINT, {"practice_id": practice_id, "number": rep.stint})
    block_id = None if rep.block is None else _id_of(connection, BLOCK, {"stint_id": stint_id, "number": rep.block})
    club_id = put(connection, CLUB, {"player_id": player_id, "name": rep.club}, {"length_m": rep.club_length_m})
    values = rep.values
    row = {
        "stint_id": stint_id,
        "block_id": block_id,
        "club_id": club_id,
        "kind": rep.kind.value,
        "verdict": rep.verdict,
        "worst": rep.worst,
        "out_s": rep.out_s,
        "takeaway_s": values.takeaway_s,
        "finish_s": values.finish_s,
        "backswing_s": values.backswing_s,
        "downswing_s": values.downswing_s,
        "tempo": values.tempo,
        "swing_length_arm_deg": values.swing_length_arm_deg,
        "swing_length_shaft_deg": values.swing_length_shaft_deg,
        "quality": values.quality,
        "flags": list(values.flags),
    }
    rep_id = put(connection, REP, {"practice_id": practice_id, "number": values.index}, row)
    for name, at_s, mark in marks_of(values):
        put(connection, MARK, {"rep_id": rep_id, "name": name}, {"at_s": at_s, **mark.model_dump()})


def marks_of(rep: RepRecord) -> list[tuple[str, float, MarkValues]]:
    """Give the marks that were passed: name, time, values."""
    times_s = {
        "shaft_level": rep.shaft_level_s, "lead_arm_level": rep.lead_arm_level_s, "top": rep.top_s, "impact": rep.impact_s,
    }  # fmt: skip
    found = [(name, at_s, getattr(rep.values, name)) for name, at_s in times_s.items()]
    return [(name, at_s, mark) for name, at_s, mark in found if at_s is not None and mark is not None]


def add(connection: Connection, table: Table, values: dict[str, Any]) -> int:
    """Insert a row; gives its id."""
    return int(connection.execute(insert(table).values(**values).returning(table.c.id)).scalar_one())


def put(connection: Connection, table: Table, known_by: dict[str, Any], values: dict[str, Any]) -> int:
    """Insert a row, or bring the one that there is up to date; gives its id."""
    row_id = find(connection, table, known_by)
    if row_id is None:
        return add(connection, table, known_by | values)
    if values:
        connection.execute(update(table).where(table.c.id == row_id).values(**values))
    return row_id


def _id_of(connection: Connection, table: Table, known_by: dict[str, Any]) -> int:
    matches = [table.c[name] == value for name, value in known_by.items()]
    return int(connection.execute(select(table.c.id).where(*matches)).scalar_one())


def find(connection: Connection, table: Table, known_by: dict[str, Any]) -> int | None:
    """Look up a row's id by what it is known by."""
    matches = [table.c[name] == value for name, value in known_by.items()]
    return connection.execute(select(table.c.id).where(*matches)).scalar_one_or_none()
