"""`/api/practices` and `/api/practices/{key}`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Query

from fusion.outputs.instant import Phase
from server.api.asked import Key, TheArchive, practice_row
from server.api.models import (
    BlockView,
    PracticePage,
    PracticeView,
    PracticeWhole,
    SensorView,
    StintView,
)
from server.api.notes import note_view
from server.api.paging import DEFAULT, After, Limit, cursor, place_of
from server.api.sight import TheSight
from server.drills import drill_of_text
from server.store import looking

router = APIRouter(tags=["practices"])


@router.get("/practices")
def practices(
    archive: TheArchive,
    sight: TheSight,
    player: Annotated[str | None, Query(description="only this player's")] = None,
    limit: Limit = DEFAULT,
    after: After = None,
) -> PracticePage:
    """List practices, newest first."""
    place = place_of(after, [(int, float), (int,)])
    with archive.database().reading() as connection:
        rows = looking.practices(
            connection,
            player=player,
            limit=limit + 1,
            after=None if place is None else (place[0], place[1]),
            only=None if sight.everything else (sight.player, sight.keys),
        )
    last = rows[limit - 1] if len(rows) > limit else None
    return PracticePage(
        items=[_short(row) for row in rows[:limit]],
        next=cursor(last["begun_unix_s"], last["id"]) if last else None,
        only_of=None if sight.everything else sight.player,
    )


@router.get("/practices/{key}")
def practice(archive: TheArchive, key: Key) -> PracticeWhole:
    """Give one with its drills and notes."""
    row = practice_row(archive, key)
    return PracticeWhole.of(
        row,
        has_recording=_has_recording(row),
        stints=[
            StintView.of(one, phases=_phases(one), blocks=[BlockView.of(block) for block in one["blocks"]])
            for one in row["stints"]
        ],
        sensors=[SensorView.of(one) for one in row["sensors"]],
        notes=[note_view(one) for one in row["notes"]],
    )


def _phases(stint: dict[str, Any]) -> tuple[Phase, ...]:
    """Read them from the drill as it was written."""
    drill = drill_of_text(stint["text"])
    return drill.phases if drill is not None and drill.name == stint["name"] else ()


def _short(row: dict[str, Any]) -> PracticeView:
    return PracticeView.of(row, has_recording=_has_recording(row))


def _has_recording(row: dict[str, Any]) -> bool:
    return any(Path(path).is_file() for path in row["paths"])
