"""The real service over a store with the demo in it, for tests of the review page."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import uvicorn

from server.api.archive import Archive
from server.api.wish import StoreWish
from server.app import make_app
from server.bays.bay import Bays
from server.cli.demo_recording import demo_recording
from server.store.database import Database
from server.store.fill import fill
from server.store.shelf import Shelf
from server.web import config_of
from tests.serving import serving


def fill_store(folder: Path, *recordings: Path) -> str:
    """Put the demo, and what else is named, into a new store; gives its place."""
    shutil.copy(demo_recording(), folder / "demo.mcap")
    database = Database(folder / "store.sqlite")
    list(fill(database, [folder / "demo.mcap", *recordings], shelf=Shelf.of(database)))
    database.close()
    return str(folder / "store.sqlite")


@asynccontextmanager
async def reviewing(place: str) -> AsyncIterator[str]:
    """Serve the pages and the API over a store; gives the address."""
    archive = Archive(StoreWish(place=place))
    app = make_app(Bays([]), on_bug=lambda _: None, archive=archive)
    async with serving(uvicorn.Server(config_of(app))) as port:
        yield f"http://127.0.0.1:{port}"
    archive.close()
