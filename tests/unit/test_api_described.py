"""Whatever is asked of the API, it answers as its description says, and never with a fault of its own.

Requests are drawn from the description by Schemathesis, good ones and bad ones, the same at each run.
"""

from __future__ import annotations

import shutil

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from server.api.archive import Archive
from server.api.wish import StoreWish
from server.app import make_app
from server.bays.bay import Bays

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]


def app_over(wish):
    return make_app(Bays([]), on_bug=print, archive=Archive(wish))


class Late:
    """The application whose description is read as this file is, and whose store is there once the tests run."""

    app = app_over(StoreWish())
    key = ""

    async def __call__(self, *args):
        await self.app(*args)


LATE = Late()
DESCRIBED = schemathesis.openapi.from_asgi("/api/openapi.json", LATE)


@pytest.fixture(scope="module", autouse=True)
def store(demo_store, tmp_path_factory):
    folder = tmp_path_factory.mktemp("described")
    shutil.copytree(demo_store, folder, dirs_exist_ok=True)
    LATE.app = app_over(StoreWish(place=str(folder / "store.sqlite"), keep_in=folder / "received"))
    LATE.key = next((folder / "store.sqlite.swings").iterdir()).stem
    yield
    assert not list((folder / "received").glob("*"))  # nothing of what was made up was taken
    LATE.app.state.service.archive.close()


@DESCRIBED.hook
def map_path_parameters(_context, parameters):
    """A practice that is there, more often than not: of a random name there is none."""
    if parameters and "key" in parameters and len(str(parameters)) % 4:
        parameters["key"] = LATE.key
    return parameters


@DESCRIBED.parametrize()
@settings(
    max_examples=20,
    derandomize=True,
    database=None,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
def test_every_answer_is_as_described(case):
    case.call_and_validate(checks=CHECKS, timeout=120)  # seconds: of a machine that has other work, too
