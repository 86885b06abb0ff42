"""What a list of reps shows, of all reps of a practice at once: a column each, without the quantities at every mark."""

from __future__ import annotations

from typing import Any, Final

from sqlalchemy import Connection, and_, select

from server.store.schema import MARK, REP, STINT

_TOP: Final = MARK.alias("top")
_ARM: Final = MARK.alias("lead_arm_level")
COLUMNS: Final = (
    REP.c.number, STINT.c.number.label("stint"), REP.c.kind, REP.c.verdict, REP.c.worst, REP.c.backswing_s, REP.c.tempo,
    REP.c.quality, _TOP.c.bend_change_deg.label("top_bend_change_deg"),
    _ARM.c.shaft_pitch_deg.label("lead_arm_level_shaft_pitch_deg"),
)  # fmt: skip
NAMES: Final = tuple(column.name for column in COLUMNS)


def rep_columns(connection: Connection, practice_id: int, *, limit: int, after: int | None) -> dict[str, list[Any]]:
    """Give reps in the order they were swung, from the one after that number on, as columns by name."""
    asked = (
        select(*COLUMNS)
        .join(STINT, STINT.c.id == REP.c.stint_id)
        .join(_TOP, and_(_TOP.c.rep_id == REP.c.id, _TOP.c.name == "top"), isouter=True)
        .join(_ARM, and_(_ARM.c.rep_id == REP.c.id, _ARM.c.name == "lead_arm_level"), isouter=True)
        .where(REP.c.practice_id == practice_id)
        .order_by(REP.c.number)
        .limit(limit)
    )
    if after is not None:
        asked = asked.where(REP.c.number > after)
    rows = connection.execute(asked).all()
    return {name: [row[i] for row in rows] for i, name in enumerate(NAMES)}
