"""A player's best rep across practices, as the API gives it: of kept practices whose worst instants are known by their making."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import insert, select

from server.api.archive import Archive
from server.api.wish import StoreWish
from server.drills import our_drills
from server.store.database import Database
from server.store.records import RepKind
from server.store.schema import PRACTICE, RECORDING
from tests.kept_practices import keep

FIRST = datetime(2026, 3, 2, 10, 0, tzinfo=UTC)
ALIKE, OTHER = (drill.text for drill in our_drills()[:2])
# Worst instants lie evenly between the edges of the band: of one rep in the middle, of two at a third and two thirds.
KEPT = {
    "two": ("Ann Example", ALIKE, [(2, 2, RepKind.CUED)]),
    "four": ("Ann Example", ALIKE, [(4, 4, RepKind.SILENT)]),
    "one": ("Ann Example", ALIKE, [(1, 1, RepKind.CUED)]),
    "paused": ("Ann Example", ALIKE, [(1, 1, RepKind.PAUSED)]),
    "another drill": ("Ann Example", OTHER, [(1, 1, RepKind.CUED)]),
    "another player": ("Bea Example", ALIKE, [(1, 1, RepKind.CUED)]),
}


@pytest.fixture
def keys(tmp_path):
    """Keys of the practices by name. Each has a file for its recording but `one`, whose file is not there yet."""
    place = tmp_path / "store.sqlite"
    for day, (player, text, blocks) in enumerate(KEPT.values()):
        keep(place, player, FIRST + timedelta(days=day), text, *blocks)
    database = Database(str(place))
    with database.writing() as connection:
        rows = connection.execute(select(PRACTICE.c.id, PRACTICE.c.key).order_by(PRACTICE.c.begun_unix_s)).all()
        for name, (practice_id, key) in zip(KEPT, rows, strict=True):
            file = {"practice_id": practice_id, "path": str(tmp_path / name), "sha256": key, "size_bytes": 1}
            connection.execute(insert(RECORDING).values(file))
            if name != "one":
                (tmp_path / name).touch()
    database.close()
    return {name: key for name, (_, key) in zip(KEPT, rows, strict=True)}


@pytest.fixture
def archive(tmp_path, keys):
    archive = Archive(StoreWish(place=str(tmp_path / "store.sqlite")))
    yield archive
    archive.close()


async def test_the_best_is_nearest_to_the_middle_of_the_band_in_whatever_practice(api, keys, tmp_path):
    async def best(practice):
        answer = await api.get(f"/practices/{keys[practice]}/reps/1/best")
        assert answer.status_code == 200, answer.text
        rep = answer.json()["rep"]
        return rep and (next(name for name, key in keys.items() if key == rep["key"]), rep["number"], rep["day"])

    # Two fifths and three fifths of the band are as near: the earlier one counts. Others' reps, drills and paused reps do not.
    assert await best("two") == await best("four") == ("four", 2, "2026-03-03")
    assert await best("another drill") == ("another drill", 1, "2026-03-06")
    # One without a recording could not be drawn.
    (tmp_path / "one").touch()
    assert await best("two") == ("one", 1, "2026-03-04")
    for name in ("one", "four", "paused"):
        (tmp_path / name).unlink()
    assert await best("four") == ("two", 1, "2026-03-02")
    (tmp_path / "two").unlink()
    assert await best("two") is None
