"""`/api/practices/{key}/reps`: filtered, in any order, a page at a time."""

from __future__ import annotations

from typing import Annotated, Any, Final

from fastapi import APIRouter, Query

from fusion.outputs import Verdict
from server.api.asked import Key, TheArchive, practice_id_in
from server.api.models import MarkView, RepPage, RepView
from server.api.paging import DEFAULT, After, Limit, cursor, place_of
from server.store import looking
from server.store.looking import RepChoice, Sorting
from server.store.records import RepKind

router = APIRouter(tags=["reps"])

_SORTINGS: Final = {
    "number": Sorting(),
    **{column.name: Sorting(by=column) for column in looking.REP_COLUMNS},
    **{
        f"{mark}.{column.name}": Sorting(by=column, mark=mark)
        for mark in looking.MARK_NAMES
        for column in looking.MARK_COLUMNS
    },
}
SORT_PATTERN: Final = f"^-?({'|'.join(name.replace('.', '[.]') for name in _SORTINGS)})$"
Sort = Annotated[
    str,
    Query(
        pattern=SORT_PATTERN,
        description="`number`, another figure of a rep, or a quantity at a mark, as `top.bend_change_deg`; with `-` in front "
        "the largest first. What is absent comes last.",
    ),
]


@router.get("/practices/{key}/reps")
def reps(
    *,
    archive: TheArchive,
    key: Key,
    drill: Annotated[str | None, Query(description="only those judged by a drill of this name")] = None,
    kind: RepKind | None = None,
    verdict: Verdict | None = None,
    sort: Sort = "number",
    limit: Limit = DEFAULT,
    after: After = None,
) -> RepPage:
    """List the reps of a practice."""
    place = place_of(after, [(int, float, type(None)), (int,)])
    sorting = _sorting(sort)
    with archive.database().reading() as connection:
        practice_id = practice_id_in(connection, key)
        rows = looking.reps(
            connection,
            practice_id,
            choice=RepChoice(drill=drill, kind=kind, verdict=verdict),
            sorting=sorting,
            limit=limit + 1,
            after=None if place is None else (place[0], place[1]),
        )
    last = rows[limit - 1] if len(rows) > limit else None
    return RepPage(
        items=[rep_view(row) for row in rows[:limit]],
        next=cursor(last.get("sorted_by"), last["number"]) if last else None,
    )


def rep_view(row: dict[str, Any]) -> RepView:
    """Give a row of the store its outside form."""
    marks = [MarkView.model_validate({n: mark[n] for n in MarkView.model_fields}) for mark in row["marks"]]
    return RepView.of(row, marks=marks)


def _sorting(asked: str) -> Sorting:
    plain = _SORTINGS[asked.removeprefix("-")]
    return Sorting(by=plain.by, mark=plain.mark, falling=asked.startswith("-"))
