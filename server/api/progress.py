"""`/api/players/{name}/progress` and `/api/players/{name}/retests`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from fastapi import APIRouter

from server.api.archive import Archive
from server.api.asked import TheArchive
from server.api.errors import ApiProblem, ProblemCode
from server.api.progress_models import DrillProgressView, ProgressView, RetestList, RetestView
from server.progress.retest import retests
from server.progress.sample import ENOUGH_REPS
from server.progress.summary import progress
from server.progress.trend import ENOUGH_DAYS
from server.store import people
from server.store.database import Database
from server.store.history import History, history_of

router = APIRouter(tags=["players"])


@router.get("/players/{name:path}/progress")
def player_progress(archive: TheArchive, name: str) -> ProgressView:
    """Tell how a player came along, by drill and day."""
    history = _history(archive, name)
    if history is None:
        raise ApiProblem(404, ProblemCode.NO_SUCH_PLAYER, "There is no player of this name in the store.")
    return ProgressView(
        player=name,
        enough_reps=ENOUGH_REPS,
        enough_days=ENOUGH_DAYS,
        drills=[DrillProgressView.of(one) for one in progress(history.points)],
    )


@router.get("/players/{name:path}/retests")
def player_retests(archive: TheArchive, name: str) -> RetestList:
    """List the tests that are due for a player; none for one who is not known, and where there is no store yet."""
    history = _history(archive, name) if _there(archive) else None
    if history is None:
        return RetestList(items=[])
    due = retests(history.points, history.texts, datetime.now().astimezone())
    return RetestList(items=[RetestView.of(one) for one in due])


def _history(archive: Archive, name: str) -> History | None:
    with archive.database().reading() as connection:
        player_id = people.player_id_of(connection, name)
        return None if player_id is None else history_of(connection, player_id)


def _there(archive: Archive) -> bool:
    """Whether there is a store: a page that only asks makes none."""
    if archive.wish.shown:
        return True
    database = Database(archive.wish.place)
    return not database.is_file or Path(database.name).exists()
