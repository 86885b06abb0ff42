"""Deletes a player: the rows, what was worked out of the swings, and, if asked, the recordings that are still as they were."""

from __future__ import annotations

import contextlib
from pathlib import Path

from server.store import people
from server.store.archive import still_there
from server.store.database import Database
from server.store.shelf import Shelf


def forget_player(database: Database, shelf: Shelf, player_id: int, *, recordings: bool) -> tuple[int, int, list[str]]:
    """Give how many practices and recordings are gone, and which recordings are left. Raises `StoreError`.

    Recordings go first: what cannot be deleted is told, and a store that fails then still knows of the rest.
    """
    with database.reading() as connection:
        files = people.recordings_of(connection, player_id)
    left = [path for path, sha256 in files if not (recordings and _deleted(Path(path), sha256))]
    with database.writing() as connection:
        keys = people.forget(connection, player_id)
    with contextlib.suppress(OSError):  # nothing more can be done; a practice that is filled again writes over it
        shelf.forget(keys)
    database.tidy()
    return len(keys), len(files) - len(left), left


def _deleted(path: Path, sha256: str) -> bool:
    if not still_there(path, sha256):
        return False
    try:
        path.unlink()
    except OSError:
        return False
    return True
