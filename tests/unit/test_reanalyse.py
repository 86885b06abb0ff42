"""`pitchbend reanalyse`: what `analyse` gives, for many files, on processes here or on a Dask scheduler."""

from __future__ import annotations

import json
import shutil

import pytest
from pyarrow import parquet
from typer.testing import CliRunner

from server.cli import main, reanalyse
from server.cli.failures import CommandFailed
from server.reanalysis import one_file, under_way, workers
from server.reanalysis.workers import NoCluster, work_on_cluster
from tests.replaying import recorded
from tests.virtual import virtual_run


def run(*words):
    return CliRunner().invoke(main.app, [str(word) for word in words], catch_exceptions=False)


@pytest.fixture(scope="module")
def archive(tmp_path_factory):
    """Two sound recordings, one of them twice, and one that is none."""
    folder = tmp_path_factory.mktemp("archive")
    events = virtual_run(3, 2).events
    recorded(folder / "a.mcap", events)
    (folder / "deeper").mkdir()
    recorded(folder / "deeper" / "b.mcap", events[: len(events) * 2 // 3])
    (folder / "broken.mcap").write_bytes(b"not a recording")
    return folder


def summary(out):
    return {one["path"].rsplit("/", 1)[-1]: one for one in json.loads((out / "summary.json").read_text())["files"]}


@pytest.fixture(scope="module")
def worked(archive, tmp_path_factory):
    out = tmp_path_factory.mktemp("out")
    return out, run("reanalyse", archive, "-o", out, "--workers", "2")


def test_the_numbers_are_those_of_analyse(archive, worked, tmp_path):
    out, _ = worked
    files = summary(out)
    assert files["a.mcap"]["n_reps"] == 2
    for name, path in (("a.mcap", archive / "a.mcap"), ("b.mcap", archive / "deeper" / "b.mcap")):
        assert run("analyse", path, "--series", tmp_path / "s.parquet", "--reps", tmp_path / "r.json").exit_code == 0
        folder = out / files[name]["folder"]
        assert (folder / "reps.json").read_bytes() == (tmp_path / "r.json").read_bytes()
        assert parquet.read_table(folder / "series.parquet").equals(parquet.read_table(tmp_path / "s.parquet"))


def test_a_bad_file_is_told_and_stops_nothing(worked):
    out, result = worked
    assert result.exit_code == 1
    assert "2 worked out, 0 known already, 1 failed" in result.output
    bad = summary(out)["broken.mcap"]
    assert (bad["outcome"], bad["problem"]) == ("failed", "it is not a Pitchbend recording")


def test_what_is_done_is_known_by_content_and_version(archive, worked, monkeypatch, tmp_path):
    out, _ = worked
    moved = tmp_path / "b.mcap"
    shutil.copy(archive / "deeper" / "b.mcap", moved)
    assert one_file.work_out(moved, out).outcome == "known"
    with monkeypatch.context() as patched:
        patched.setattr(one_file, "analysis_version", lambda: "another")
        assert one_file.work_out(moved, out).outcome == "worked_out"
        assert one_file.work_out(moved, out).outcome == "known"
    next(out.glob("b-*/reps.json")).unlink()
    assert one_file.work_out(moved, out).outcome == "worked_out"


def test_while_a_file_is_worked_on_it_is_told_how_far_it_is(archive, monkeypatch, tmp_path):
    path, told = archive / "a.mcap", []
    tell = under_way.UnderWay.tell

    def and_look(note, read_bytes):
        tell(note, read_bytes)
        told.append(under_way.notes_in(tmp_path))

    monkeypatch.setattr(under_way, "NOTE_EVERY_S", 0.0)
    monkeypatch.setattr(under_way.UnderWay, "tell", and_look)
    assert one_file.work_out(path, tmp_path).outcome == "worked_out"
    steps = [note[under_way.note_name(path)] for note in told]
    assert steps == sorted(steps)
    assert len(set(steps)) >= 5
    assert max(steps) <= path.stat().st_size
    assert not under_way.notes_in(tmp_path)


def test_the_bar_counts_what_is_done_and_what_is_under_way(tmp_path, monkeypatch):
    shown = []
    monkeypatch.setattr(reanalyse._Bar, "show", lambda _, done, total: shown.append((done, total)))
    paths = [tmp_path / "a.mcap", tmp_path / "b.mcap"]
    for path, n_bytes in zip(paths, (1000, 500), strict=True):
        path.write_bytes(bytes(n_bytes))
    bar = reanalyse._Bar(paths, tmp_path)
    with under_way.UnderWay(tmp_path, paths[0]) as first, under_way.UnderWay(tmp_path, paths[1]) as second:
        first.tell(400)
        second.tell(100)
        bar.look()
        bar.finish(one_file.Worked(path=str(paths[0]), outcome=one_file.Outcome.WORKED_OUT))
    bar.look()  # neither tells any more
    bar.finish(one_file.Worked(path=str(paths[1]), outcome=one_file.Outcome.FAILED))
    assert shown == [(500, 1500), (1100, 1500), (1000, 1500), (1500, 1500)]


def test_a_dask_scheduler_gives_the_same(archive, worked, tmp_path):
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=True, dashboard_address=None, host="127.0.0.1"
    ) as cluster:
        assert run("reanalyse", archive, "-o", tmp_path, "--dask", cluster.scheduler_address).exit_code == 1
    here = summary(worked[0])
    for name, there in summary(tmp_path).items():
        assert (there["outcome"], there["problem"], there["n_reps"]) == (
            here[name]["outcome"], here[name]["problem"], here[name]["n_reps"],
        )  # fmt: skip
        if there["folder"]:
            same = [
                (place / "reps.json").read_bytes()
                for place in map(type(tmp_path), (there["folder"], here[name]["folder"]))
            ]
            assert same[0] == same[1]


def test_a_scheduler_that_is_not_there_is_told(archive, tmp_path):
    with pytest.raises(NoCluster, match="nonsense"):
        next(work_on_cluster([archive / "a.mcap"], tmp_path, "nonsense://here"))
    with pytest.raises(CommandFailed, match="no recordings"):
        run("reanalyse", tmp_path, "-o", tmp_path)


def test_stopped_it_keeps_what_is_done_and_goes_on_from_there(archive, worked, monkeypatch, tmp_path):
    paths = [archive / "broken.mcap", archive / "a.mcap"]

    def interrupted(*_):
        going = workers.work_here(paths, tmp_path, 1)
        yield next(going)  # the broken one, at once; the other is under way
        going.close()
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr("server.reanalysis.workers.work_on_cluster", interrupted)
        result = run("reanalyse", *paths, "-o", tmp_path, "--dask", "anywhere")
    assert result.exit_code == 130
    assert "Stopped with 1 of 2 done" in result.output
    assert list(summary(tmp_path)) == ["broken.mcap"]
    assert not list(tmp_path.glob("a-*/done.json"))
    out, _ = worked
    assert "1 known already, 1 failed" in run("reanalyse", *paths, "-o", out).output
