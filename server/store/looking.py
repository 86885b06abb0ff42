"""What the pages ask of the store: practices, newest first, and the reps of one, in any order, a part at a time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Column, ColumnElement, Connection, Select, and_, case, false, func, or_, select, tuple_

from fusion.outputs.rep import Verdict
from server.store.records import RepKind
from server.store.schema import BLOCK, CLUB, DRILL, MARK, NOTE, PLAYER, PRACTICE, RECORDING, REP, SENSOR, STINT, WORN

Row = dict[str, Any]

REP_COLUMNS: Final = tuple(
    REP.c[name]
    for name in (
        "worst", "out_s", "takeaway_s", "backswing_s", "downswing_s", "tempo", "swing_length_arm_deg", "swing_length_shaft_deg",
    )
)  # fmt: skip
MARK_NAMES: Final = ("shaft_level", "lead_arm_level", "top", "impact")
MARK_COLUMNS: Final = tuple(
    column for column in MARK.c if column.name not in {"id", "rep_id", "name"} and not column.name.endswith("_sd")
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sorting:
    """By number, or by a column of the reps, or by one of a mark; what is absent comes last, either way."""

    by: Column[Any] | None = None
    mark: str | None = None
    falling: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RepChoice:
    """Which reps are wanted; None for any."""

    drill: str | None = None
    kind: str | None = None
    verdict: str | None = None


def practices(
    connection: Connection,
    *,
    player: str | None,
    limit: int,
    after: tuple[float, int] | None,
    only: tuple[str, Collection[str]] | None = None,
) -> list[Row]:
    """Give some practices, newest first; `after` is the time and the id of the one before them.

    `only` those of a player and those of these keys.
    """
    asked = _practices()
    if only is not None:
        asked = asked.where(or_(and_(PLAYER.c.name == only[0], PLAYER.c.name != ""), PRACTICE.c.key.in_(only[1])))
    if player is not None:
        asked = asked.where(PLAYER.c.name == player)
    if after is not None:
        asked = asked.where(tuple_(PRACTICE.c.begun_unix_s, PRACTICE.c.id) < tuple_(*after))
    rows = _rows(connection, asked.order_by(PRACTICE.c.begun_unix_s.desc(), PRACTICE.c.id.desc()).limit(limit))
    return _counted(connection, rows)


def practice(connection: Connection, key: str) -> Row | None:
    """Give one practice with its stints, notes and sensors; None when there is none of that key."""
    rows = _counted(connection, _rows(connection, _practices().where(PRACTICE.c.key == key)))
    if not rows:
        return None
    (row,) = rows
    of_practice = row["id"]
    stints = _rows(
        connection,
        select(STINT.c.id, STINT.c.number, STINT.c.begun_unix_s, DRILL.c.name, *(DRILL.c[n] for n in _DRILL))
        .join(DRILL)
        .where(STINT.c.practice_id == of_practice)
        .order_by(STINT.c.number),
    )
    blocks: dict[int, list[Row]] = defaultdict(list)
    ids = [stint["id"] for stint in stints]
    for block in _rows(connection, select(BLOCK).where(BLOCK.c.stint_id.in_(ids)).order_by(BLOCK.c.number)):
        blocks[block["stint_id"]].append(block)
    worn = select(WORN.c.role, SENSOR.c.name, SENSOR.c.profile).join(SENSOR).where(WORN.c.practice_id == of_practice)
    notes = select(NOTE).where(NOTE.c.practice_id == of_practice).order_by(NOTE.c.number)
    return {
        **row,
        "stints": [{**stint, "blocks": blocks[stint["id"]]} for stint in stints],
        "sensors": _rows(connection, worn.order_by(WORN.c.role)),
        "notes": _rows(connection, notes),
    }


_DRILL: Final = ("quantity", "unit", "low", "high", "text")


def practice_id_of(connection: Connection, key: str) -> int | None:
    """Find a practice by its key."""
    return connection.execute(select(PRACTICE.c.id).where(PRACTICE.c.key == key)).scalar_one_or_none()


def player_of_practice(connection: Connection, key: str) -> str | None:
    """Tell under whose name a practice stands; None when there is none of that key."""
    of = select(PLAYER.c.name).join(PRACTICE).where(PRACTICE.c.key == key)
    return connection.execute(of).scalar_one_or_none()


def reps(
    connection: Connection,
    practice_id: int,
    *,
    choice: RepChoice,
    sorting: Sorting,
    limit: int,
    after: tuple[float | None, int] | None,
) -> list[Row]:
    """Give some reps with their marks; `after` is the sorted value and the number of the one before them."""
    asked = _reps().where(REP.c.practice_id == practice_id)
    for column, wanted in ((DRILL.c.name, choice.drill), (REP.c.kind, choice.kind), (REP.c.verdict, choice.verdict)):
        if wanted is not None:
            asked = asked.where(column == wanted)
    by, number = sorting.by, REP.c.number
    if by is None:
        asked = asked.order_by(number.desc() if sorting.falling else number)
        if after is not None:
            asked = asked.where(number < after[1] if sorting.falling else number > after[1])
    else:
        if sorting.mark is not None:
            asked = asked.join(MARK, (MARK.c.rep_id == REP.c.id) & (MARK.c.name == sorting.mark), isouter=True)
        asked = asked.add_columns(by.label("sorted_by"))
        asked = asked.order_by(by.is_(None), by.desc() if sorting.falling else by, number)
        if after is not None:
            asked = asked.where(_beyond(by, after, falling=sorting.falling))
    return _marked(connection, _rows(connection, asked.limit(limit)))


def rep(connection: Connection, practice_id: int, number: int) -> Row | None:
    """Give one rep with its marks."""
    found = _rows(connection, _reps().where(REP.c.practice_id == practice_id, REP.c.number == number))
    return _marked(connection, found)[0] if found else None


def recordings(connection: Connection, practice_id: int) -> list[Row]:
    """Give the files of a practice, largest first."""
    return _rows(
        connection,
        select(RECORDING.c.path, RECORDING.c.sha256, RECORDING.c.size_bytes)
        .where(RECORDING.c.practice_id == practice_id)
        .order_by(RECORDING.c.size_bytes.desc()),
    )


def keys_of_recordings(connection: Connection, sha256s: Collection[str]) -> list[str]:
    """Find the practices that files of these contents hold."""
    asked = select(PRACTICE.c.key).join(RECORDING).where(RECORDING.c.sha256.in_(sha256s))
    return list(connection.execute(asked).scalars())


def whereabouts(connection: Connection, sha256: str) -> tuple[str, str] | None:
    """Find the key of the practice that a file of this content holds, and where one was seen last."""
    asked = select(PRACTICE.c.key, RECORDING.c.path).join(RECORDING).where(RECORDING.c.sha256 == sha256)
    found = connection.execute(asked).one_or_none()
    return None if found is None else (found.key, found.path)


def _practices() -> Select[Any]:
    return select(PRACTICE, PLAYER.c.name.label("player")).join(PLAYER)


def _reps() -> Select[Any]:
    return (
        select(
            REP, STINT.c.number.label("stint"), BLOCK.c.number.label("block"), DRILL.c.name.label("drill"),
            CLUB.c.name.label("club"),
        )
        .join(STINT, STINT.c.id == REP.c.stint_id)
        .join(DRILL, DRILL.c.id == STINT.c.drill_id)
        .join(BLOCK, BLOCK.c.id == REP.c.block_id, isouter=True)
        .join(CLUB, CLUB.c.id == REP.c.club_id, isouter=True)
    )  # fmt: skip


def _beyond(by: Column[Any], after: tuple[float | None, int], *, falling: bool) -> ColumnElement[bool]:
    value, number = after
    if value is None:
        return by.is_(None) & (REP.c.number > number)
    further = by < value if falling else by > value
    return or_(further, and_(by == value, REP.c.number > number), by.is_(None))


def _counted(connection: Connection, rows: list[Row]) -> list[Row]:
    """Add what each practice's reps come to, its drills and its files."""
    ids = [row["id"] for row in rows]
    counts_for = REP.c.kind != RepKind.PAUSED.value
    columns = (
        func.count(REP.c.id).label("n_reps"),
        func.count(case((counts_for & (REP.c.verdict != Verdict.UNKNOWN.value), 1))).label("n_judged"),
        func.count(case((counts_for & (REP.c.verdict == Verdict.IN_BAND.value), 1))).label("n_in_band"),
    )
    of_reps = REP.c.practice_id
    counts = _rows(connection, select(of_reps, *columns).where(_among(of_reps, ids)).group_by(of_reps))
    by_id = {one["practice_id"]: one for one in counts}
    drills: dict[int, list[str]] = defaultdict(list)
    asked = select(STINT.c.practice_id, DRILL.c.name).join(DRILL).where(_among(STINT.c.practice_id, ids))
    for one in _rows(connection, asked.order_by(STINT.c.number)):
        if one["name"] not in drills[one["practice_id"]]:
            drills[one["practice_id"]].append(one["name"])
    paths: dict[int, list[str]] = defaultdict(list)
    asked = select(RECORDING.c.practice_id, RECORDING.c.path).where(_among(RECORDING.c.practice_id, ids))
    for one in _rows(connection, asked):
        paths[one["practice_id"]].append(one["path"])
    none = {"n_reps": 0, "n_judged": 0, "n_in_band": 0}
    return [
        {**row, **none, **by_id.get(row["id"], {}), "drills": drills[row["id"]], "paths": paths[row["id"]]}
        for row in rows
    ]


def _among(column: Column[Any], ids: Sequence[int]) -> ColumnElement[bool]:
    return column.in_(ids) if ids else false()


def _marked(connection: Connection, rows: list[Row]) -> list[Row]:
    marks: dict[int, list[Row]] = defaultdict(list)
    ids = [row["id"] for row in rows]
    for mark in _rows(connection, select(MARK).where(_among(MARK.c.rep_id, ids)).order_by(MARK.c.at_s)):
        marks[mark["rep_id"]].append(mark)
    return [{**row, "marks": marks[row["id"]]} for row in rows]


def _rows(connection: Connection, asked: Select[Any]) -> list[Row]:
    return [{str(name): value for name, value in row.items()} for row in connection.execute(asked).mappings()]
