"""Who asks, for what: the store and the practice that a request is about, and whether it may change anything."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import Depends, Path, Request
from sqlalchemy import Connection

from server.api.archive import Archive
from server.api.errors import ApiProblem, ProblemCode
from server.joining.guest import guest_of
from server.joining.hosts import same_origin
from server.store import looking

Key = Annotated[str, Path(pattern="^[0-9a-f]{64}$", description="of a practice")]
Number = Annotated[int, Path(ge=1, le=1_000_000, description="of a rep, from 1")]


def archive_of(request: Request) -> Archive:
    """Find the store."""
    found: Archive = request.app.state.archive
    return found


TheArchive = Annotated[Archive, Depends(archive_of)]


def from_here(request: Request) -> None:
    """Refuse what a page of somebody else asks for. Raises `ApiProblem`."""
    if not same_origin(request.scope):
        raise ApiProblem(403, ProblemCode.OTHER_ORIGIN, "That was asked by a page of somebody else.")


def may_write(request: Request) -> None:
    """Refuse a viewer, and a page of somebody else. Raises `ApiProblem`."""
    from_here(request)
    if guest_of(request).only_watches:
        raise ApiProblem(
            403,
            ProblemCode.VIEWERS_WATCH,
            "Who watches can change nothing. Ask the coach for a link to practise or to coach.",
        )


def practice_row(archive: Archive, key: str) -> dict[str, Any]:
    """Look a practice up. Raises `ApiProblem`, `StoreError`."""
    with archive.database().reading() as connection:
        row = looking.practice(connection, key)
    if row is None:
        raise no_such_practice()
    return row


def practice_id_in(connection: Connection, key: str) -> int:
    """Look up by which number the store has a practice. Raises `ApiProblem`."""
    found = looking.practice_id_of(connection, key)
    if found is None:
        raise no_such_practice()
    return found


def rep_in(connection: Connection, practice_id: int, number: int) -> dict[str, Any]:
    """Look a rep up. Raises `ApiProblem`."""
    row = looking.rep(connection, practice_id, number)
    if row is None:
        raise ApiProblem(404, ProblemCode.NO_SUCH_REP, f"This practice has no rep {number}.")
    return row


def no_such_practice() -> ApiProblem:
    """Say so."""
    return ApiProblem(
        404,
        ProblemCode.NO_SUCH_PRACTICE,
        "This practice is not in the store. It may have been deleted; look in the list again.",
    )
