"""What several files of unit tests share."""

from __future__ import annotations

import shutil

import pytest

from server.cli.demo_recording import demo_recording
from server.store.database import Database
from server.store.fill import fill
from server.store.shelf import Shelf
from tests.api_client import api_over
from tests.served import Served
from tests.unit.hand_turned import hand_turned, open_packets


@pytest.fixture
def served(monkeypatch):
    """What commands hand to the service, in its place."""
    served = Served()
    monkeypatch.setattr("server.cli.serving.serve", served)
    return served


@pytest.fixture
def home(tmp_path, monkeypatch):
    """Folders of this user's own."""
    monkeypatch.setattr("platformdirs.user_config_dir", lambda *_, **__: str(tmp_path / "config"))
    monkeypatch.setattr("platformdirs.user_data_dir", lambda *_, **__: str(tmp_path / "data"))
    monkeypatch.setattr("platformdirs.user_documents_dir", lambda: str(tmp_path / "documents"))
    return tmp_path


@pytest.fixture
async def api(archive):
    """A client of the API over the test's own `archive`."""
    async with api_over(archive) as api:
        yield api


@pytest.fixture(scope="session")
def demo_store(tmp_path_factory):
    """A folder with the demo as `a.mcap` and a store in which it is, swings and all. Not to be changed."""
    folder = tmp_path_factory.mktemp("demo-store")
    shutil.copy(demo_recording(), folder / "a.mcap")
    database = Database(folder / "store.sqlite")
    list(fill(database, [folder / "a.mcap"], shelf=Shelf.of(database)))
    database.close()
    return folder


@pytest.fixture(scope="session")
def motion():
    """A sensor laid down and turned by hand, 200 samples a second; not to be written to."""
    return hand_turned(200.0)


@pytest.fixture(scope="session")
def packets(motion):
    """The same as packets of the open profile."""
    return open_packets(*motion)
