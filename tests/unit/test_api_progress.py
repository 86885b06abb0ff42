"""The API's answers about progress and tests that are due, over a store with days of an invented player."""

from __future__ import annotations

from datetime import datetime, timedelta

import httpx
import pytest
from jsonschema import Draft202012Validator

from fusion.drills.parse import drill_from
from server.api import schema
from server.api.archive import Archive
from server.api.wish import StoreWish
from server.app import make_app
from server.bays.bay import Bays
from server.drills import our_drills
from server.progress.sample import wilson
from server.store.records import RepKind
from tests.kept_practices import keep

NAME = "Idun / Aas"
TEXT = our_drills()[0].text
COURSE = ((10, 9, RepKind.CUED), (8, 6, RepKind.SILENT), (10, 7, RepKind.TEST))
DESCRIPTION = schema.document()


async def asked(place, path):
    archive = Archive(StoreWish(place=str(place)))
    app = make_app(Bays([]), on_bug=lambda _: None, archive=archive)
    async with httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://127.0.0.1/api") as client:
        answer = await client.get(path)
    archive.close()
    return answer


def fits(answer, name):
    described = {"$ref": f"#/components/schemas/{name}", "components": DESCRIPTION["components"]}
    Draft202012Validator(described).validate(answer.json())
    return answer.json()


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    place = tmp_path_factory.mktemp("kept") / "store.sqlite"
    now = datetime.now().astimezone()
    keep(place, NAME, now - timedelta(days=2), TEXT, *COURSE)
    keep(place, NAME, now - timedelta(days=1), TEXT, (10, 5, RepKind.TEST), *COURSE)
    return place


async def test_progress_by_drill_day_and_way(place):
    answer = await asked(place, "/players/Idun%20%2F%20Aas/progress")
    (drill,) = fits(answer, "ProgressView")["drills"]
    assert drill["drill"] == {
        "name": our_drills()[0].drill.name, "quantity": "bend_change", "unit": "deg", "low": -8.0, "high": 25.0,
        "from_mark": "takeaway", "to_mark": "top",
    }  # fmt: skip
    ways = {one["way"]: one for one in drill["ways"]}
    assert list(ways) == ["cued", "silent", "test", "next_day"]
    assert [day["sample"]["n_in_band"] for day in ways["test"]["days"]] == [7, 7]
    (again,) = ways["next_day"]["days"]
    share = wilson(5, 10)
    assert (again["sample"]["share_low"], again["sample"]["share_high"]) == (share.low, share.high)
    assert ways["cued"]["trend"] == {
        "n_days": 2, "missing_days": 3, "missing_reps": 18, "per_week": None, "per_week_low": None, "per_week_high": None,
    }  # fmt: skip
    (kept,) = drill["retentions"]
    assert (kept["days_between"], kept["test"]["n_in_band"], kept["cued"]["n_in_band"]) == (1, 5, 9)
    assert (await asked(place, "/players/Nobody/progress")).json()["code"] == "no_such_player"


async def test_a_test_that_is_due(place, tmp_path):
    (due,) = fits(await asked(place, "/players/Idun%20%2F%20Aas/retests"), "RetestList")["items"]
    assert (due["days_since"], due["n_reps"], due["silent"]["n_in_band"]) == (1, 10, 7)
    assert [block.n_reps for block in drill_from(due["text"]).blocks] == [10]
    assert (await asked(place, "/players/Nobody/retests")).json() == {"items": []}
    assert (await asked(tmp_path / "none.sqlite", "/players//retests")).json() == {"items": []}
    assert list(tmp_path.iterdir()) == []
