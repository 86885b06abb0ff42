"""`/api/players`."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Path, Query, Request

from server.api.asked import TheArchive, may_write
from server.api.errors import ApiProblem, ProblemCode
from server.api.models import Forgotten, PlayerPage, PlayerView, ShareView
from server.api.paging import DEFAULT, After, Limit, cursor, place_of
from server.api.sight import TheSight
from server.joining.oversees import oversees
from server.store import people
from server.store.forgetting import forget_player

router = APIRouter(tags=["players"])


@router.get("/players")
def players(archive: TheArchive, sight: TheSight, limit: Limit = DEFAULT, after: After = None) -> PlayerPage:
    """List the players by name."""
    place = place_of(after, [(str,)])
    with archive.database().reading() as connection:
        seen = [one for one in people.players(connection) if sight.is_of(one.name)]
    found = [one for one in seen if place is None or one.name > place[0]]
    return PlayerPage(
        items=[_view(one) for one in found[:limit]], next=cursor(found[limit - 1].name) if len(found) > limit else None
    )


@router.delete("/players/{name:path}", dependencies=[Depends(may_write)])
def forget(
    *,
    archive: TheArchive,
    request: Request,
    name: Annotated[str, Path(description="of the player; empty for practices without a name")],
    confirm: Annotated[str | None, Query(description="the name once more: this cannot be undone")] = None,
    recordings: Annotated[bool, Query(description="delete the recordings, too; else they stay")] = False,
) -> Forgotten:
    """Delete one player with everything that hangs on it. For the computer itself and for coaches."""
    if not oversees(request):
        raise ApiProblem(403, ProblemCode.NOT_YOURS, "Only the computer itself and coaches can delete a player.")
    if confirm != name:
        said = "This cannot be undone: say the player's name once more, in `confirm`. Nothing was deleted."
        raise ApiProblem(409, ProblemCode.NOT_CONFIRMED, said)
    database = archive.database()
    with database.reading() as connection:
        player_id = people.player_id_of(connection, name)
    if player_id is None:
        raise ApiProblem(404, ProblemCode.NO_SUCH_PLAYER, "There is no player of that name in the store.")
    n_practices, n_deleted, left = forget_player(database, archive.shelf(), player_id, recordings=recordings)
    return Forgotten(n_practices=n_practices, n_recordings_deleted=n_deleted, n_recordings_left=len(left))


def _view(one: people.PlayerShort) -> PlayerView:
    return PlayerView(
        name=one.name, n_practices=one.n_practices, n_reps=one.n_reps, cued=_share(one.cued), silent=_share(one.silent)
    )


def _share(share: people.Share) -> ShareView:
    return ShareView(n_judged=share.n_judged, n_in_band=share.n_in_band)
