"""A player's best rep of a drill, in whatever practice: the one whose worst instant was nearest to the middle of the band."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection, func, select

from fusion.outputs.rep import Verdict
from server.store.looking import recordings
from server.store.records import RepKind
from server.store.schema import DRILL, PRACTICE, REP, STINT


def best_by_practice(connection: Connection, rep: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Give the best rep of each practice of this rep's player, the best of all first; the earlier of two equal ones.

    The band is that of this rep: a drill of the same name may have had another in another practice.
    """
    of_rep = select(STINT.c.drill_id).where(STINT.c.id == rep["stint_id"]).scalar_subquery()
    drill = connection.execute(select(DRILL).where(DRILL.c.id == of_rep)).mappings().one()
    player = select(PRACTICE.c.player_id).where(PRACTICE.c.id == rep["practice_id"]).scalar_subquery()
    off = func.abs(REP.c.worst - (drill["low"] + drill["high"]) / 2)
    place = func.row_number().over(partition_by=REP.c.practice_id, order_by=(off, REP.c.number))
    ranked = (
        select(REP.c.practice_id, REP.c.number, REP.c.worst, off.label("off"), place.label("place"))
        .join(STINT, STINT.c.id == REP.c.stint_id)
        .join(DRILL, DRILL.c.id == STINT.c.drill_id)
        .join(PRACTICE, PRACTICE.c.id == REP.c.practice_id)
        .where(
            PRACTICE.c.player_id == player,
            DRILL.c.name == drill["name"],
            DRILL.c.quantity == drill["quantity"],
            REP.c.worst.is_not(None),
            REP.c.verdict != Verdict.UNKNOWN.value,
            REP.c.kind != RepKind.PAUSED.value,
        )
        .subquery()
    )
    asked = (
        select(PRACTICE.c.key, PRACTICE.c.day, ranked.c.number, ranked.c.worst, ranked.c.practice_id)
        .join(PRACTICE, PRACTICE.c.id == ranked.c.practice_id)
        .where(ranked.c.place == 1)
        .order_by(ranked.c.off, PRACTICE.c.begun_unix_s, ranked.c.number)
    )
    for row in connection.execute(asked).mappings():
        yield {**row, "paths": [file["path"] for file in recordings(connection, row["practice_id"])]}
