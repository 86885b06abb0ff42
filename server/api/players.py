"""`/api/players`."""

from __future__ import annotations

from fastapi import APIRouter

from server.api.asked import TheArchive
from server.api.models import PlayerPage, PlayerView, ShareView
from server.api.paging import DEFAULT, After, Limit, cursor, place_of
from server.store import people

router = APIRouter(tags=["players"])


@router.get("/players")
def players(archive: TheArchive, limit: Limit = DEFAULT, after: After = None) -> PlayerPage:
    """List the players by name."""
    place = place_of(after, [(str,)])
    with archive.database().reading() as connection:
        found = [one for one in people.players(connection) if place is None or one.name > place[0]]
    return PlayerPage(
        items=[_view(one) for one in found[:limit]], next=cursor(found[limit - 1].name) if len(found) > limit else None
    )


def _view(one: people.PlayerShort) -> PlayerView:
    return PlayerView(
        name=one.name, n_practices=one.n_practices, n_reps=one.n_reps, cued=_share(one.cued), silent=_share(one.silent)
    )


def _share(share: people.Share) -> ShareView:
    return ShareView(n_judged=share.n_judged, n_in_band=share.n_in_band)
