"""What the API lets one change, and whom: what-if, notes, and deleting a player."""

from __future__ import annotations

import math
import shutil

import pytest

from server.api.archive import Archive
from server.api.what_if import Wondered, answer
from server.api.wish import StoreWish
from server.store.swings import read_swing
from tests.api_client import problem


@pytest.fixture
def folder(demo_store, tmp_path):
    """A copy of one's own of the filled store."""
    shutil.copytree(demo_store, tmp_path, dirs_exist_ok=True)
    return tmp_path


@pytest.fixture
def archive(folder):
    archive = Archive(StoreWish(place=str(folder / "store.sqlite")))
    yield archive
    archive.close()


async def the_practice(api):
    (practice,) = (await api.get("/practices")).json()["items"]
    return f"/practices/{practice['key']}"


async def test_a_what_if_changes_nothing_by_nothing_and_agrees_with_what_the_pipeline_says(api):
    practice = await the_practice(api)
    n = 0
    for rep in (await api.get(f"{practice}/reps")).json()["items"]:
        trace = (await api.get(f"{practice}/reps/{rep['number']}/trace")).json()
        for mark in rep["marks"]:
            if mark["name"] == "impact" or mark["pitch_per_bend"] is None:
                continue
            wondered = {"t_s": mark["at_s"] - rep["takeaway_s"], "bend_by_deg": 1.0, "roll_by_deg": 0.0}
            told = (await api.post(f"{practice}/reps/{rep['number']}/what-if", json=wondered)).json()
            at = trace["t_s"].index(told["t_s"])
            for name, value in told["unchanged"].items():  # the pipeline's own, by another way
                assert value == pytest.approx(trace[name][at], abs=1e-6), name
            if told["unchanged"]["shaft_pitch_deg"] is None:  # not trusted here: so is no change of it
                assert told["changed"]["shaft_pitch_deg"] is None
                continue
            change_deg = told["changed"]["shaft_pitch_deg"] - told["unchanged"]["shaft_pitch_deg"]
            assert change_deg == pytest.approx(mark["pitch_per_bend"], abs=0.05)
            assert told["changed"]["face_twist_deg"] > told["unchanged"]["face_twist_deg"]  # bowing shuts
            n += 1
    assert n >= 12


async def test_a_what_if_where_nothing_is_known_or_asked_is_refused(api, archive):
    practice = await the_practice(api)
    shelf = archive.shelf()
    rows = read_swing(next(shelf.folder.iterdir()), 1)
    assert rows is not None
    for part in "wxyz":
        rows.columns[f"q_earth_from_forearm_{part}"] = [None] * len(rows.columns["phase"])
    with pytest.raises(Exception, match="no_pose"):
        answer(rows, 0.0, Wondered(t_s=0.0))
    for body in ({}, {"t_s": "now"}, {"t_s": 1e999}, {"t_s": 0.1, "bend_by_deg": 200}, {"t_s": 0.1, "more": 1}, [1]):
        text = str(body).replace("'", '"').replace("inf", "1e999")
        answered = await api.post(
            f"{practice}/reps/1/what-if", content=text, headers={"Content-Type": "application/json"}
        )
        problem(answered, 422, "bad_request")
    too_long = await api.post(f"{practice}/reps/1/what-if", content=b" " * 70_000)
    problem(too_long, 413, "too_large")


async def test_a_note_is_pinned_kept_and_taken_back(api):
    practice = await the_practice(api)
    note = {"text": " Quieter hands here. ", "rep_number": 3, "after_takeaway_s": 0.31}
    added = await api.post(f"{practice}/notes?as=coach", json=note)
    assert added.status_code == 201
    first = added.json()
    assert (first["text"], first["author"], first["may_remove"]) == ("Quieter hands here.", "coach", True)
    second = (await api.post(f"{practice}/notes", json={"text": "Übung", "author": "Ada"})).json()
    assert (await api.get(practice)).json()["notes"][-2:] == [first, second]
    assert math.isclose(first["after_takeaway_s"], 0.31)
    problem(await api.post(f"{practice}/notes", json={"text": "x", "rep_number": 99}), 404, "no_such_rep")
    for bad in ({"text": " "}, {"text": "a\0b"}, {"text": "x", "after_takeaway_s": 1.0}, {"text": "x" * 2001}, {}):
        problem(await api.post(f"{practice}/notes", json=bad), 422, "bad_request")
    assert (await api.delete(f"{practice}/notes/{first['number']}")).status_code == 204
    problem(await api.delete(f"{practice}/notes/{first['number']}"), 404, "no_such_note")
    problem(await api.delete(f"{practice}/notes/0"), 404, "no_such_note")  # what a recording holds stays
    assert (await api.get(practice)).json()["notes"][-1:] == [second]


async def test_viewers_and_foreign_pages_change_nothing(api):
    practice = await the_practice(api)
    before = (await api.get(practice)).json()
    wondered = {"t_s": 0.3, "bend_by_deg": 5.0}
    assert (await api.post(f"{practice}/reps/1/what-if?as=viewer", json=wondered)).status_code == 200
    elsewhere = {"Origin": "http://elsewhere.example"}
    for ask in (
        lambda **by: api.post(f"{practice}/notes", json={"text": "x"}, **by),
        lambda **by: api.delete(f"{practice}/notes/1000000", **by),
        lambda **by: api.post("/recordings", content=b"x", **by),
        lambda **by: api.delete("/players/Ines", **by),
    ):
        problem(await ask(params={"as": "viewer"}), 403, "viewers_watch")
        problem(await ask(headers=elsewhere), 403, "other_origin")
    problem(await api.post(f"{practice}/reps/1/what-if", json=wondered, headers=elsewhere), 403, "other_origin")
    answer = await api.options("/players", headers=elsewhere | {"Access-Control-Request-Method": "DELETE"})
    assert not [name for name in answer.headers if name.startswith("access-control")]
    assert (await api.get(practice)).json() == before


async def test_a_player_is_deleted_only_when_that_was_meant(api, folder):
    (player,) = (await api.get("/players")).json()["items"]
    path = f"/players/{player['name']}"
    for query in ({}, {"confirm": "yes"}):
        problem(await api.delete(path, params=query), 409, "not_confirmed")
    problem(await api.delete("/players/Nobody", params={"confirm": "Nobody"}), 404, "no_such_player")
    passed_on = {"Forwarded": "for=192.0.2.7"}  # then it is not this computer, though it looks so
    problem(await api.delete(path, params={"confirm": player["name"]}, headers=passed_on), 403, "not_yours")
    assert (await api.get("/players")).json()["items"] == [player]
    gone = await api.delete(path, params={"confirm": player["name"]})
    assert gone.json() == {"n_practices": 1, "n_recordings_deleted": 0, "n_recordings_left": 1}
    assert (await api.get("/players")).json()["items"] == []
    assert (await api.get("/practices")).json()["items"] == []
    assert list((folder / "store.sqlite.swings").iterdir()) == []


async def test_a_recording_is_taken_along_as_it_is_if_it_is_still_that(api, demo_store, archive):
    practice = await the_practice(api)
    content = (demo_store / "a.mcap").read_bytes()
    answer = await api.get(f"{practice}/recording")
    assert answer.content == content
    assert 'filename="a.mcap"' in answer.headers["content-disposition"]
    with archive.database().writing() as connection:
        connection.exec_driver_sql("UPDATE recording SET sha256 = 'another'")
    problem(await api.get(f"{practice}/recording"), 404, "recording_gone")
