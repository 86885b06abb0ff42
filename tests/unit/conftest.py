"""What several files of unit tests share."""

from __future__ import annotations

import shutil

import pytest

from server.cli.demo_recording import demo_recording
from server.store.database import Database
from server.store.fill import fill
from server.store.shelf import Shelf


@pytest.fixture(scope="session")
def demo_store(tmp_path_factory):
    """A folder with the demo as `a.mcap` and a store in which it is, swings and all. Not to be changed."""
    folder = tmp_path_factory.mktemp("demo-store")
    shutil.copy(demo_recording(), folder / "a.mcap")
    database = Database(folder / "store.sqlite")
    list(fill(database, [folder / "a.mcap"], shelf=Shelf.of(database)))
    database.close()
    return folder
