"""What the store holds of each player: in short, whole for an export, and gone when it is to be forgotten."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Table, case, delete, distinct, func, select

from fusion.outputs.rep import Verdict
from server.store.records import RepKind
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """Reps in the band, of those whose angles could be trusted."""

    n_judged: int
    n_in_band: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayerShort:
    """One player. What was swung with the cue and without is kept apart; paused reps count for neither."""

    name: str
    n_practices: int
    n_reps: int
    cued: Share
    silent: Share
    """The silent reps of a drill and those of its test."""


def players(connection: Connection) -> list[PlayerShort]:
    """Give all, by name."""
    columns = [func.count(distinct(PRACTICE.c.id)), func.count(REP.c.id)]
    for kinds in ((RepKind.CUED,), (RepKind.SILENT, RepKind.TEST)):
        of_kind = REP.c.kind.in_([kind.value for kind in kinds])
        columns.append(func.count(case((of_kind & (REP.c.verdict != Verdict.UNKNOWN.value), 1))))
        columns.append(func.count(case((of_kind & (REP.c.verdict == Verdict.IN_BAND.value), 1))))
    rows = connection.execute(
        select(PLAYER.c.name, *columns)
        .select_from(PLAYER)
        .join(PRACTICE, isouter=True)
        .join(REP, REP.c.practice_id == PRACTICE.c.id, isouter=True)
        .group_by(PLAYER.c.name)
        .order_by(PLAYER.c.name)
    )
    return [
        PlayerShort(
            name=row[0], n_practices=row[1], n_reps=row[2], cued=Share(n_judged=row[3], n_in_band=row[4]),
            silent=Share(n_judged=row[5], n_in_band=row[6]),
        )
        for row in rows
    ]  # fmt: skip


def player_id_of(connection: Connection, name: str) -> int | None:
    """Find a player by name; None when there is no such player."""
    return connection.execute(select(PLAYER.c.id).where(PLAYER.c.name == name)).scalar_one_or_none()


def recordings_of(connection: Connection, player_id: int) -> list[tuple[str, str]]:
    """Give the files of a player's practices: path and SHA-256."""
    rows = connection.execute(
        select(RECORDING.c.path, RECORDING.c.sha256)
        .join(PRACTICE)
        .where(PRACTICE.c.player_id == player_id)
        .order_by(RECORDING.c.path)
    )
    return [(row.path, row.sha256) for row in rows]


def whole(connection: Connection, player_id: int) -> dict[str, Any]:
    """Give everything that is known of a player, as JSON will have it: the tables' columns, without their numbering."""
    name = connection.execute(select(PLAYER.c.name).where(PLAYER.c.id == player_id)).scalar_one()
    clubs = {club["id"]: club for club in _rows(connection, CLUB, CLUB.c.player_id == player_id)}
    practices = _rows(connection, PRACTICE, PRACTICE.c.player_id == player_id, order="begun_unix_s")
    return {
        "player": name,
        "clubs": [_plain(club) for club in clubs.values()],
        "practices": [_practice(connection, row, clubs) for row in practices],
    }


def forget(connection: Connection, player_id: int) -> list[str]:
    """Delete a player with everything that hangs on it, and the drills and sensors that nobody else used.

    Gives the keys of the practices, whose files are beside the store.
    """
    keys = list(connection.execute(select(PRACTICE.c.key).where(PRACTICE.c.player_id == player_id)).scalars())
    connection.execute(delete(PLAYER).where(PLAYER.c.id == player_id))
    connection.execute(delete(DRILL).where(DRILL.c.id.not_in(select(STINT.c.drill_id))))
    connection.execute(delete(SENSOR).where(SENSOR.c.id.not_in(select(WORN.c.sensor_id))))
    return keys


def _practice(connection: Connection, row: dict[str, Any], clubs: dict[int, dict[str, Any]]) -> dict[str, Any]:
    of_practice = row["id"]
    drills, sensors = _by_id(connection, DRILL), _by_id(connection, SENSOR)
    worn = _rows(connection, WORN, WORN.c.practice_id == of_practice)
    stints = _rows(connection, STINT, STINT.c.practice_id == of_practice, order="number")
    reps = _rows(connection, REP, REP.c.practice_id == of_practice, order="number")
    numbers = {stint["id"]: stint["number"] for stint in stints}
    blocks = {
        stint["id"]: _rows(connection, BLOCK, BLOCK.c.stint_id == stint["id"], order="number") for stint in stints
    }
    block_numbers = {block["id"]: block["number"] for those in blocks.values() for block in those}
    return {
        **_plain(row),
        "sensors": [{"role": one["role"], **_plain(sensors[one["sensor_id"]])} for one in worn],
        "recordings": [_plain(one) for one in _rows(connection, RECORDING, RECORDING.c.practice_id == of_practice)],
        "stints": [
            {
                **_plain(stint),
                "drill": _plain(drills[stint["drill_id"]]),
                "blocks": [_plain(block) for block in blocks[stint["id"]]],
            }
            for stint in stints
        ],
        "reps": [
            {
                **_plain(rep),
                "stint": numbers[rep["stint_id"]],
                "block": block_numbers.get(rep["block_id"]),
                "club": _plain(clubs[rep["club_id"]]) if rep["club_id"] is not None else None,
                "marks": [_plain(mark) for mark in _rows(connection, MARK, MARK.c.rep_id == rep["id"], order="at_s")],
            }
            for rep in reps
        ],
        "answers": [_plain(one) for one in _rows(connection, ANSWER, ANSWER.c.practice_id == of_practice)],
        "notes": [_plain(note) for note in _rows(connection, NOTE, NOTE.c.practice_id == of_practice, order="number")],
    }


def _rows(connection: Connection, table: Table, condition: Any, *, order: str = "id") -> list[dict[str, Any]]:
    found = connection.execute(select(table).where(condition).order_by(table.c[order]))
    return [{str(name): value for name, value in row.items()} for row in found.mappings()]


def _by_id(connection: Connection, table: Table) -> dict[int, dict[str, Any]]:
    return {row["id"]: row for row in _rows(connection, table, table.c.id.is_not(None))}


def _plain(row: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in row.items() if name != "id" and not name.endswith("_id")}
