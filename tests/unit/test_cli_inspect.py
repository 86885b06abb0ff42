from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from record_samples import CLUB, practice
from rich.console import Console
from typer.testing import CliRunner

from sensors.events import ClockJump, ClockJumpCause, RawPacket, RecordingResumed, SensorInfo, SignalStrength
from sensors.ingest import Ingest
from sensors.record.reader import read_events
from sensors.record.summary import Summariser
from sensors.record.writer import Recorder
from server.cli import inspect, main
from server.cli.demo_recording import demo_recording
from server.cli.progress import QuietBar
from server.cli.tables import minutes

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def recording(tmp_path_factory):
    path = tmp_path_factory.mktemp("inspect") / "a.mcap"
    with Recorder(path) as recorder:
        for event in practice(10.0):
            recorder.write(event)
    return path


def run(*words):
    result = CliRunner(env={"COLUMNS": "200"}).invoke(main.app, ["inspect", *map(str, words)], catch_exceptions=False)
    assert result.exit_code == 0
    return result.stdout


def command(*words):
    env = os.environ | {"PYTHONPATH": str(ROOT)}
    code = "from server.cli.main import main; main()"
    return subprocess.run(
        [sys.executable, "-c", code, *map(str, words)], env=env, capture_output=True, text=True, check=False
    )


def test_the_tables(recording):
    text = run(recording)
    for part in (
        "Wren Øster, lead arm right, 7 iron",
        "0:10.0",
        "sensors still 0:00.0",
        "forearm",
        "2000",
        "200.0",
        "88 %",
    ):
        assert part in text
    assert "No swings in it." in text
    assert "damaged" not in text


def test_json_is_the_same_in_figures(recording):
    values = json.loads(run(recording, "--json", "--no-reps"))
    assert values["player"] == {
        "name": "Wren Øster",
        "lead_side": "right",
        "club": "7 iron",
        "club_length_m": None,
        "arm_length_m": None,
    }
    assert values["moves"] == [{"at_s": 0.0, "end_s": None, "move": "still"}]
    assert [sensor["n_samples"] for sensor in values["sensors"]] == [2000, 2000]
    assert values["duration_s"] == pytest.approx(9.95)
    assert values["damage"]["n_damaged_chunks"] == 0
    assert values["reps"] is None


def test_the_demo_holds_a_dozen_swings():
    values = json.loads(run(demo_recording(), "--json"))
    assert [rep["index"] for rep in values["reps"]] == list(range(1, 13))
    assert {rep["verdict"] for rep in values["reps"]} <= {"in_band", "below"}
    assert "Reps, drill: Quiet wrist going back" in run(demo_recording())


def test_how_they_sent_and_what_would_have_helped(tmp_path):
    """A second of the club's packets lost, a link that broke, a clock that was set, a stretch that was not recorded."""
    events = practice(60.0)
    gone = [e for e in events if isinstance(e, RawPacket) and e.sensor == CLUB][200:260]
    end_ns = events[-1].arrival_ns
    extra = [
        SignalStrength(arrival_ns=end_ns, sensor=CLUB, rssi_dbm=-91),
        ClockJump(arrival_ns=end_ns, cause=ClockJumpCause.SET, seconds=-3600.0),
        RecordingResumed(arrival_ns=end_ns, n_missed=80, missed_s=2.0),
    ]
    with Recorder(tmp_path / "a.mcap") as recorder:
        for event in [*(e for e in events if e not in gone), *extra]:
            recorder.write(event)
    text = run(tmp_path / "a.mcap", "--no-reps")
    for part in (
        "200.0 of 200.0",
        "60 packets, 5.00%",
        "-91 dBm",
        "Worst stretches",
        "0:10.0",
        "Lost links",
        "dropped",
        "clock was set back by 3600 s",
        "80 events of 2.0 s were not recorded",
        "Club: 5.0 % of the samples are lost. Bring",
        "Club: It was barely heard (-91 dBm)",
    ):
        assert part in text, part
    values = json.loads(run(tmp_path / "a.mcap", "--no-reps", "--json"))
    health = values["sensors"][1]["health"]
    assert (health["n_packets_lost"], health["worst"][0]["n_lost"], health["rssi_dbm"]) == (60, 600, -91)
    assert [hitch["cause"] for hitch in values["hitches"]] == ["set", None]


def test_the_figures_are_those_of_the_live_page(recording):
    """One code for both: what the engine would publish at the last event, and what the table says of the whole."""
    ingest, events = Ingest(), list(read_events(recording))
    for event in events:
        ingest.push(event)
    live = ingest.health(events[-1].arrival_ns)
    summariser = Summariser()
    for event in events:
        summariser.push(event)
    assert tuple(sensor.health for sensor in summariser.summary().sensors) == live


def test_damage_is_told_in_words(recording, tmp_path):
    data = bytearray(recording.read_bytes())
    data[len(data) // 3] ^= 4
    data[len(data) // 2] ^= 4
    (tmp_path / "b.mcap").write_bytes(data[:-30000])
    text = run(tmp_path / "b.mcap", "--no-reps")
    assert "ends abruptly" in text
    assert "damaged in 2 places" in text


def test_a_sensor_of_a_later_kind(tmp_path):
    with Recorder(tmp_path / "a.mcap") as recorder:
        for event in practice(1.0):
            recorder.write(replace(event, profile="sundial") if isinstance(event, SensorInfo) else event)
    text = run(tmp_path / "a.mcap")
    assert "cannot read sensors of the kind sundial" in text
    assert json.loads(run(tmp_path / "a.mcap", "--json"))["reps"] is None


def test_a_bar_is_shown_when_it_takes_long(recording, monkeypatch):
    monkeypatch.setattr("sensors.record.watched.EVERY", 16)
    console = Console(force_terminal=True, width=80, file=open(os.devnull, "w"))  # noqa: SIM115, PTH123  # closed below
    with console.file, console.capture() as capture:
        inspection = inspect.Inspection(recording, with_reps=False)
        with QuietBar("Reading", console=console, quiet_s=-1.0) as bar:
            inspection.run(bar)
    assert "Reading" in capture.get()


@pytest.mark.parametrize("content", [None, b"", b"la la la"])
def test_what_is_no_recording_is_one_sentence_and_exit_code_2(tmp_path, content):
    path = tmp_path / "x.mcap"
    if content is not None:
        path.write_bytes(content)
    for name in ("inspect", "replay"):
        answer = command(name, path)
        assert answer.returncode == 2
        assert answer.stdout == ""
        assert "x.mcap" in answer.stderr
        assert "Traceback" not in answer.stderr
        assert len(answer.stderr.strip().splitlines()) == 1


def test_a_failed_command_is_told_the_same_way():
    answer = command("live", "--forearm", "A", "--club", "a")
    assert answer.returncode == 2
    assert answer.stderr.startswith("Each place needs a sensor of its own")
    assert "Traceback" not in answer.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX pipes")
def test_a_pager_may_close_early(recording):
    env = os.environ | {"PYTHONPATH": str(ROOT)}
    code = "from server.cli.main import main; main()"
    words = [sys.executable, "-c", code, "inspect", str(recording), "--json"]
    with subprocess.Popen(words, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        process.stdout.close()
        assert "Traceback" not in process.stderr.read()


def test_times_are_written_as_one_finds_them():
    assert [minutes(t) for t in (0.0, 59.96, 61.25, 3600.0)] == ["0:00.0", "1:00.0", "1:01.2", "60:00.0"]
