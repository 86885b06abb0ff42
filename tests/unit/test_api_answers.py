"""A coach's answer over the API: made from one store, opened in another, where it says the same."""

from __future__ import annotations

import asyncio
import shutil

import pytest
import zxingcpp
from segno import make as make_qr

from fusion.drills.parse import drill_from
from sensors.record.reader import read_events
from server.answer.read import read_answer
from server.api.archive import Archive
from server.api.wish import StoreWish
from server.cli.demo_recording import demo_recording
from tests.api_client import api_over, problem

PRIORITY = "Keep the back of the lead hand flat until the shaft is level"


@pytest.fixture
async def coach(demo_store, tmp_path):
    """A copy of the filled store, and the address of its practice."""
    folder = shutil.copytree(demo_store, tmp_path / "coach")
    archive = Archive(StoreWish(place=str(folder / "store.sqlite")))
    async with api_over(archive, timeout=120) as api:
        (practice,) = (await api.get("/practices")).json()["items"]
        yield api, f"/practices/{practice['key']}"
    archive.close()


async def said(api):
    drill = next(one for one in (await api.get("/drills")).json()["items"] if one["id"] == "3-flatter-shaft")
    notes = [{"rep": 4, "after_takeaway_s": 0.55, "text": "here the wrist cups"}, {"rep": 9, "text": "better"}]
    return {"author": "Wenna Hale", "priority": PRIORITY, "drill_text": drill["text"], "notes": notes}


async def test_an_answer_made_here_is_opened_there_and_says_the_same(coach, tmp_path):
    api, practice = coach
    sent = await said(api)
    made = await api.post(f"{practice}/answers", json=sent)
    assert made.status_code == 200, made.text
    file = tmp_path / "answer.mcap"
    file.write_bytes(made.content)
    assert list(read_events(file)) == list(read_events(demo_recording()))
    inside = read_answer(file)
    assert (inside.author, inside.priority, len(inside.notes)) == ("Wenna Hale", PRIORITY, 2)

    student = Archive(StoreWish(place=str(tmp_path / "student.sqlite"), keep_in=tmp_path / "received"))
    async with api_over(student, timeout=120) as there:
        for outcome in ("stored", "known"):
            incoming = (await there.post("/recordings", content=made.content)).json()
            async with asyncio.timeout(120):
                while incoming["outcome"] is None:
                    await asyncio.sleep(0.05)
                    incoming = (await there.get(f"/recordings/{incoming['id']}")).json()
            assert (incoming["outcome"], f"/practices/{incoming['key']}") == (outcome, practice)
        (told,) = (await there.get(f"{practice}/answers")).json()["items"]
        assert (told["author"], told["priority"]) == ("Wenna Hale", PRIORITY)
        assert told["drill"]["text"] == sent["drill_text"]
        notes = (await there.get(practice)).json()["notes"]
        assert [(one["author"], one["rep_number"], one["after_takeaway_s"], one["text"]) for one in notes] == [
            ("Wenna Hale", 4, 0.55, "here the wrist cups"),
            ("Wenna Hale", 9, None, "better"),
        ]
        ours = [rep["marks"] for rep in (await api.get(f"{practice}/reps")).json()["items"]]
        assert ours == [rep["marks"] for rep in (await there.get(f"{practice}/reps")).json()["items"]]
    student.close()
    (mine,) = (await api.get(f"{practice}/answers")).json()["items"]
    assert mine == told


async def test_the_picture_of_a_prescription_is_read_back_by_another_program(coach):
    api, practice = coach
    sent = await said(api)
    await api.post(f"{practice}/answers", json=sent)
    (told,) = (await api.get(f"{practice}/answers")).json()["items"]
    picture = told["drill"]["qr"]
    dark = {(int(x), int(y)) for x, y in (part.split("h")[0].split() for part in picture["path"].split("M")[1:])}
    from PIL import Image

    image = Image.new("L", (picture["size"], picture["size"]), 255)
    for place in dark:
        image.putpixel(place, 0)
    (found,) = zxingcpp.read_barcodes(image.resize((picture["size"] * 4,) * 2, Image.Resampling.NEAREST))
    assert drill_from(found.text) == drill_from(sent["drill_text"])
    assert make_qr(found.text, micro=False, error="m").version <= 20


@pytest.mark.parametrize(
    ("change", "status", "code"),
    [
        ({"notes": [{"rep": 99, "text": "no such rep"}]}, 404, "no_such_rep"),
        ({"priority": ""}, 422, "bad_request"),
        ({"priority": "two\nlines"}, 422, "bad_request"),
        ({"drill_text": "name = 3"}, 422, "bad_request"),
        ({"author": None}, 422, "bad_request"),
    ],
)
async def test_what_cannot_be_answered_is_refused(coach, change, status, code):
    api, practice = coach
    problem(await api.post(f"{practice}/answers", json=await said(api) | change), status, code)
    assert (await api.get(f"{practice}/answers")).json()["items"] == []


async def test_a_viewer_and_a_foreign_page_may_not_answer(coach):
    api, practice = coach
    problem(await api.post(f"{practice}/answers?as=viewer", json=await said(api)), 403, "viewers_watch")
    elsewhere = {"Origin": "http://elsewhere.example"}
    problem(await api.post(f"{practice}/answers", json=await said(api), headers=elsewhere), 403, "other_origin")
    problem(await api.get(f"/practices/{'0' * 64}/answers"), 404, "no_such_practice")


async def test_a_prescription_is_kept_among_ones_own_drills(coach, tmp_path, monkeypatch):
    api, _ = coach
    monkeypatch.setattr("server.drills.own_folder", lambda: tmp_path / "own")
    text = (await said(api))["drill_text"].replace("Lay the shaft down", "Lay it down: Wenna's")
    kept = (await api.post("/drills", json={"text": text})).json()
    assert (kept["id"], kept["own"]) == ("lay-it-down-wenna-s", True)
    assert kept in (await api.get("/drills")).json()["items"]
    problem(await api.post("/drills", json={"text": "name = 3"}), 422, "bad_request")
    problem(await api.post("/drills?as=viewer", json={"text": text}), 403, "viewers_watch")
