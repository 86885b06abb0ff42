"""The HTTP API over a store filled with the demo: its answers against the analysis of the same recording, and its problems."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pyarrow.parquet as pq
import pytest
from jsonschema import Draft202012Validator

from server.analysis.analysis import Analysis
from server.analysis.quantities import QUANTITIES
from server.analysis.reps_file import rep_record
from server.analysis.series_file import series_file
from server.api import schema
from server.api.archive import Archive
from server.api.errors import ProblemCode
from server.api.wish import StoreWish
from server.cli.demo_recording import demo_recording
from server.drills import default_drill
from tests.api_client import api_over, problem

DEMO = demo_recording()
TYPES = Path(__file__).parents[2] / "web" / "src" / "api" / "types.gen.ts"
DESCRIPTION = schema.document()
NO_PRACTICE = "0" * 64


@pytest.fixture(scope="module")
def analysed(tmp_path_factory):
    path = tmp_path_factory.mktemp("analysed") / "series.parquet"
    analysis = Analysis(DEMO)
    with series_file(path, analysis.clock) as series:
        for _ in analysis.run(series):
            pass
    return pq.read_table(path).to_pylist(), [rep_record(rep, analysis.clock) for rep in analysis.reps]


@pytest.fixture(scope="module")
def archive(demo_store):
    archive = Archive(StoreWish(place=str(demo_store / "store.sqlite")))
    yield archive
    archive.close()


async def got(api, path, name, **query):
    answer = await api.get(path, params=query)
    assert answer.status_code == 200, answer.text
    described = {"$ref": f"#/components/schemas/{name}", "components": DESCRIPTION["components"]}
    Draft202012Validator(described).validate(answer.json())
    return answer.json()


async def the_key(api):
    (practice,) = (await got(api, "/practices", "PracticePage"))["items"]
    return practice["key"]


def test_what_is_made_from_the_description_is_fresh():
    text = schema.DESCRIPTION.read_text(encoding="utf-8")
    assert text == schema.text(), "run `python -m server.api.schema`"
    stamp = hashlib.sha256(text.encode()).hexdigest()
    assert stamp in TYPES.read_text(encoding="utf-8").splitlines()[0], "run `npm run types` in web/"


async def test_practices_and_players(api, analysed):
    assert (await api.get("/openapi.json")).json() == DESCRIPTION
    (player,) = (await got(api, "/players", "PlayerPage"))["items"]
    (short,) = (await got(api, "/practices", "PracticePage", player=player["name"]))["items"]
    assert (await got(api, "/practices", "PracticePage", player="Nobody"))["items"] == []
    whole = await got(api, f"/practices/{short['key']}", "PracticeWhole")
    assert {name: whole[name] for name in short} == short
    assert short["n_reps"] == player["n_reps"] == len(analysed[1])
    assert short["has_recording"] is True
    assert [stint["name"] for stint in whole["stints"]] == short["drills"]
    assert [stint["phases"] for stint in whole["stints"]] == [[phase.value for phase in default_drill().phases]]


async def test_reps_are_those_of_the_analysis(api, analysed):
    reps = (await got(api, f"/practices/{await the_key(api)}/reps", "RepPage"))["items"]
    for rep, record in zip(reps, analysed[1], strict=True):
        expected = record.model_dump()
        for name in ("takeaway_s", "finish_s", "tempo", "swing_length_shaft_deg", "quality", "flags"):
            assert rep[name] == expected[name], name
        for mark in rep["marks"]:
            name, at_s = mark.pop("name"), mark.pop("at_s")
            assert mark == expected["values"][name]
            assert at_s == expected[f"{name}_s"]


@pytest.mark.parametrize(
    "sort", ["number", "-number", "worst", "-tempo", "top.bend_change_deg", "-impact.face_twist_deg"]
)
async def test_pages_put_together_are_the_whole_list(api, sort):
    path = f"/practices/{await the_key(api)}/reps"
    whole = (await got(api, path, "RepPage", sort=sort))["items"]
    paged, after = [], {}
    while True:
        page = await got(api, path, "RepPage", sort=sort, limit=5, **after)
        paged += page["items"]
        if page["next"] is None:
            break
        after = {"after": page["next"]}
    assert paged == whole
    values = [value_of(rep, sort.lstrip("-")) for rep in whole]
    known = [value for value in values if value is not None]
    assert known == sorted(known, reverse=sort.startswith("-"))
    assert values[len(known) :] == [None] * (len(values) - len(known))


def value_of(rep, sort):
    mark, _, name = sort.rpartition(".")
    if not mark:
        return rep[name]
    return next((one[name] for one in rep["marks"] if one["name"] == mark), None)


async def test_one_rep_and_all_as_columns_are_those_of_the_list(api):
    path = f"/practices/{await the_key(api)}"
    reps = (await got(api, f"{path}/reps", "RepPage"))["items"]
    assert await got(api, f"{path}/reps/7", "RepView") == reps[6]
    whole = await got(api, f"{path}/rep-columns", "RepColumns")
    assert whole.pop("next") is None
    for name, values in whole.items():
        assert values == [figure_of(rep, name) for rep in reps], name
    paged, after = [], {}
    while True:
        page = await got(api, f"{path}/rep-columns", "RepColumns", limit=5, **after)
        paged += page["number"]
        if page["next"] is None:
            break
        after = {"after": page["next"]}
    assert paged == whole["number"]


def figure_of(rep, name):
    """A figure of a rep, or one at a mark of it, whose name then is in front."""
    for mark in ("top", "lead_arm_level"):
        if name.startswith(f"{mark}_"):
            return next((one[name.removeprefix(f"{mark}_")] for one in rep["marks"] if one["name"] == mark), None)
    return rep[name]


async def test_reps_by_drill_kind_and_verdict(api):
    path = f"/practices/{await the_key(api)}/reps"
    reps = (await got(api, path, "RepPage"))["items"]
    for name in ("drill", "kind", "verdict"):
        for value in {rep[name] for rep in reps}:
            chosen = (await got(api, path, "RepPage", **{name: value}))["items"]
            assert chosen == [rep for rep in reps if rep[name] == value]
    assert (await got(api, path, "RepPage", drill="no such drill"))["items"] == []


async def test_a_trace_is_the_series_of_the_analysis(api, analysed):
    rows, records = analysed
    key = await the_key(api)
    n_known = 0
    for record in records:
        trace = (await api.get(f"/practices/{key}/reps/{record.index}/trace")).json()
        expected = [row for row in rows if record.takeaway_s - 1.0 <= row["host_time_s"] <= record.finish_s]
        assert trace["t_s"] == [row["host_time_s"] - record.takeaway_s for row in expected]
        for name in ("phase", "quality", *(n for q in QUANTITIES for n in (q.name, q.sd_name))):
            assert trace[name] == [row[name] for row in expected], name
            n_known += sum(value is not None for value in trace[name])
        for segment in ("forearm", "hand", "club"):
            poses = trace[f"q_earth_from_{segment}"]
            assert [pose is None for pose in poses] == [bend is None for bend in trace["bend_deg"]]
        assert [mark["name"] for mark in trace["marks"]][::5] == ["takeaway", "finish"]
        assert trace["marks"][0]["t_s"] == 0.0
    assert n_known > 12 * 300 * 18


async def test_a_store_for_showing_and_swings_worked_out_beside_the_service(tmp_path):
    """In processes of their own: the store is filled when somebody asks, a swings file that is damaged is made anew."""
    content = DEMO.read_bytes()
    (tmp_path / "cut.mcap").write_bytes(content[: len(content) // 2])
    archive = Archive(StoreWish(shown=(tmp_path / "cut.mcap",)))
    async with api_over(archive) as api:
        path = f"/practices/{await the_key(api)}/reps/1/trace"
        trace = await got(api, path, "Trace")
        (file,) = archive.shelf().folder.iterdir()
        file.write_bytes(file.read_bytes()[:-100])
        waiting = await api.get(path)
        assert waiting.status_code == 202
        assert 0 <= waiting.json()["done"] <= 1
        (job,) = archive._swings.values()
        job.over.wait(100)
        assert job.problem == ""
        assert await got(api, path, "Trace") == trace
        file.unlink()
        (tmp_path / "cut.mcap").unlink()
        archive.swings_told(file.stem)
        problem(await api.get(path), 404, "recording_gone")
        assert (await got(api, "/practices", "PracticePage"))["items"][0]["has_recording"] is False
    folder = Path(archive.database().name).parent
    archive.close()
    assert not folder.exists()


async def test_problems(api):
    key = await the_key(api)
    problem(await api.get("/nothing"), 404, "no_such_address")
    problem(await api.post("/players"), 405, "wrong_method")
    problem(await api.get(f"/practices/{NO_PRACTICE}"), 404, "no_such_practice")
    problem(await api.get(f"/practices/{NO_PRACTICE}/reps"), 404, "no_such_practice")
    problem(await api.get(f"/practices/{key}/reps/99/trace"), 404, "no_such_rep")
    for path in ("/practices?limit=0", "/practices?limit=501", "/practices/ABC", f"/practices/{key}/reps?sort=salt"):
        problem(await api.get(path), 422, "bad_request")
    for cursor in ("x", "W10", "WyJhIiwiYiJd", "bnVsbA", "WzFlOTk5LDFd", "\ud7ff"):
        problem(await api.get("/practices", params={"after": cursor}), 422, "bad_cursor")


async def test_a_store_that_cannot_be_opened_is_said(tmp_path):
    (tmp_path / "store.sqlite").write_text("a letter, and no database at all\n" * 100)
    archive = Archive(StoreWish(place=str(tmp_path / "store.sqlite")))
    async with api_over(archive) as api:
        told = problem(await api.get("/practices"), 503, "store")
    assert "the file is damaged, or is no store" in told["detail"]
    archive.close()


def test_every_code_and_every_address_is_in_the_prose():
    prose = (schema.DESCRIPTION.parents[1] / "docs" / "api.md").read_text(encoding="utf-8")
    for code in ProblemCode:
        assert f"`{code}`" in prose, code
    for path in DESCRIPTION["paths"]:
        if "progress" not in path:  # its own page
            short = path.replace("{sha256}", "{id}").removeprefix("/practices/{key}") or path
            assert short in prose, path
