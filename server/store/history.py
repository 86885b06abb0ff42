"""A player's reps across all days, as `server.progress` looks at them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, RowMapping, select

from fusion.drills.write import marks_of
from server.drills import drill_of_text
from server.progress.points import DrillKey, RepPoint
from server.store.records import RepKind
from server.store.schema import BLOCK, DRILL, PRACTICE, REP, STINT


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """All reps but the paused ones, and of each drill the text that it was written in last."""

    points: tuple[RepPoint, ...]
    texts: dict[DrillKey, str]


def history_of(connection: Connection, player_id: int) -> History:
    """Read it."""
    drills = {row["id"]: (_key(row), str(row["text"])) for row in _drills(connection, player_id)}
    rows = connection.execute(
        select(
            PRACTICE.c.key, PRACTICE.c.day, PRACTICE.c.begun_unix_s, PRACTICE.c.duration_s, STINT.c.drill_id,
            STINT.c.number.label("stint"), BLOCK.c.number.label("block"), BLOCK.c.n_reps, REP.c.number, REP.c.kind,
            REP.c.verdict, REP.c.worst,
        )
        .select_from(REP)
        .join(PRACTICE, PRACTICE.c.id == REP.c.practice_id)
        .join(STINT, STINT.c.id == REP.c.stint_id)
        .join(BLOCK, BLOCK.c.id == REP.c.block_id, isouter=True)
        .where(PRACTICE.c.player_id == player_id, REP.c.kind != RepKind.PAUSED.value)
        .order_by(PRACTICE.c.begun_unix_s, REP.c.number)
    )  # fmt: skip
    points: list[RepPoint] = []
    texts: dict[DrillKey, str] = {}
    for row in rows.mappings():
        key, text = drills[row["drill_id"]]
        points.append(_point(row, key))
        if row["n_reps"] is not None or key not in texts:
            texts[key] = text
    return History(points=tuple(points), texts=texts)


def _drills(connection: Connection, player_id: int) -> list[RowMapping]:
    used = select(STINT.c.drill_id).join(PRACTICE).where(PRACTICE.c.player_id == player_id)
    return list(connection.execute(select(DRILL).where(DRILL.c.id.in_(used))).mappings())


def _key(row: RowMapping) -> DrillKey:
    drill = drill_of_text(row["text"])  # else known by its band alone
    marks = marks_of(drill) if drill is not None else None
    return DrillKey(
        name=row["name"], quantity=row["quantity"], unit=row["unit"], low=row["low"], high=row["high"],
        from_mark=marks[0] if marks is not None else None, to_mark=marks[1] if marks is not None else None,
    )  # fmt: skip


def _point(row: RowMapping, key: DrillKey) -> RepPoint:
    begun_unix_s: float = row["begun_unix_s"]
    block_reps: Any = row["n_reps"]
    return RepPoint(
        practice=row["key"],
        day=row["day"],
        begun_unix_s=begun_unix_s,
        ended_unix_s=begun_unix_s + row["duration_s"],
        number=row["number"],
        drill=key,
        stint=row["stint"],
        block=row["block"],
        block_reps=block_reps or 0,
        kind=RepKind(row["kind"]),
        verdict=row["verdict"],
        worst=row["worst"],
    )
