"""`/api/practices/{key}/reps`: filtered, in any order, a page at a time; one of them; and all as columns, for a list."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Final

from fastapi import APIRouter, Query

from fusion.outputs.rep import Verdict
from server.api.asked import Key, Number, TheArchive, practice_id_in, rep_in
from server.api.models import BestRep, MarkView, PlayersBest, RepColumns, RepPage, RepView
from server.api.paging import DEFAULT, After, Limit, cursor, place_of
from server.store import looking
from server.store.best import best_by_practice
from server.store.columns import rep_columns
from server.store.looking import RepChoice, Sorting
from server.store.records import RepKind

router = APIRouter(tags=["reps"])

MOST_ROWS: Final = 20_000
"""Of a list that shows ten figures a rep."""

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


@router.get("/practices/{key}/rep-columns")
def columns(
    archive: TheArchive,
    key: Key,
    limit: Annotated[int, Query(ge=1, le=MOST_ROWS, description="how many at most")] = MOST_ROWS,
    after: After = None,
) -> RepColumns:
    """Give what a list of reps shows, of many at once, in the order they were swung."""
    place = place_of(after, [(int,)])
    with archive.database().reading() as connection:
        practice_id = practice_id_in(connection, key)
        found = rep_columns(connection, practice_id, limit=limit + 1, after=None if place is None else place[0])
    more = len(found["number"]) > limit
    shown = {name: values[:limit] for name, values in found.items()}
    return RepColumns.model_validate({**shown, "next": cursor(shown["number"][-1]) if more else None}, strict=False)


@router.get("/practices/{key}/reps/{number}")
def one_rep(archive: TheArchive, key: Key, number: Number) -> RepView:
    """Give one rep."""
    with archive.database().reading() as connection:
        return rep_view(rep_in(connection, practice_id_in(connection, key), number))


@router.get("/practices/{key}/reps/{number}/best")
def best(archive: TheArchive, key: Key, number: Number) -> PlayersBest:
    """Give the player's best rep of this rep's drill, in whatever practice, of those whose recording is here.

    It is the one whose worst instant was nearest to the middle of the band that this rep was judged by.
    """
    with archive.database().reading() as connection:
        row = rep_in(connection, practice_id_in(connection, key), number)
        for one in best_by_practice(connection, row):
            if any(Path(path).is_file() for path in one["paths"]):
                return PlayersBest(rep=BestRep.of(one))
    return PlayersBest(rep=None)


def rep_view(row: dict[str, Any]) -> RepView:
    """Give a row of the store its outside form."""
    marks = [MarkView.model_validate({n: mark[n] for n in MarkView.model_fields}) for mark in row["marks"]]
    return RepView.of(row, marks=marks)


def _sorting(asked: str) -> Sorting:
    plain = _SORTINGS[asked.removeprefix("-")]
    return Sorting(by=plain.by, mark=plain.mark, falling=asked.startswith("-"))
