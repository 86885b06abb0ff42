from __future__ import annotations

import pytest
from record_samples import WALL_NS, practice
from typer.testing import CliRunner

from sensors.record.listing import listed, recordings_in
from sensors.record.writer import Recorder
from server.cli import main, recordings
from server.cli.failures import CommandFailed


def record(path, seconds=3.0, *, finish=True, notes=None):
    recorder = Recorder(path, wall_clock_ns=lambda: WALL_NS, notes=notes)
    for event in practice(seconds):
        recorder.write(event)
    recorder.close() if finish else recorder.abandon()
    return path


def run(*words):
    return CliRunner(env={"COLUMNS": "200"}).invoke(main.app, ["recordings", *map(str, words)], catch_exceptions=False)


def test_a_finished_one_is_known_from_its_ends(tmp_path):
    one = listed(record(tmp_path / "a.mcap", 30.0))
    assert (one.player, one.is_finished, one.problem) == ("Wren Øster", True, "")
    assert one.duration_s == pytest.approx(29.95, abs=1e-3)
    assert one.created == "2026-09-21T14:13:20+00:00"
    assert one.size_bytes == (tmp_path / "a.mcap").stat().st_size


def test_one_that_was_cut_off_is_read_through(tmp_path):
    one = listed(record(tmp_path / "a.mcap", 30.0, finish=False))
    assert not one.is_finished
    assert one.duration_s == pytest.approx(29.95, abs=1e-3)
    data = (tmp_path / "a.mcap").read_bytes()
    (tmp_path / "a.mcap").write_bytes(data[: len(data) // 2])
    assert 10.0 < listed(tmp_path / "a.mcap").duration_s < 20.0


def test_the_list_is_newest_first_and_says_what_is_odd(tmp_path):
    for name, options in (
        ("2026-05-03_10-00-00_wren.mcap", {}),
        ("2026-05-04_10-00-00_wren.mcap", {"finish": False}),
        ("2026-05-04_10-00-00_wren-part-2.mcap", {"notes": {"continues": "2026-05-04_10-00-00_wren.mcap"}}),
    ):
        (tmp_path / name[:10]).mkdir(exist_ok=True)
        record(tmp_path / name[:10] / name, **options)
    (tmp_path / "song.mcap").write_bytes(b"la la la")
    names = [path.name for path in recordings_in(tmp_path)]
    assert names == sorted(names, reverse=True)
    text = run("--folder", tmp_path).stdout
    assert f"In {tmp_path}" in text
    assert text.index("2026-05-04_10") < text.index("2026-05-03_10")
    assert "(being recorded, or cut off: pitchbend recover)" in text
    assert "goes on from 2026-05-04_10-00-00_wren.mcap" in text
    assert "(it is not a Pitchbend recording)" in text
    assert "0:03.0" in text
    assert "and 3 older; --number 4" in run("--folder", tmp_path, "-n", "1").stdout


def test_nothing_yet(tmp_path, monkeypatch):
    for name in ("default_folder", "earlier_folder"):
        monkeypatch.setattr(recordings, name, lambda: tmp_path / "none")
    with pytest.raises(CommandFailed, match="Nothing has been recorded"):
        run()
