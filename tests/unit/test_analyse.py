"""`pitchbend analyse`: what the pipeline said, in the outside's units, read back by Parquet's and JSON Schema's own readers."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import jsonschema
import pyarrow as pa
import pytest
from pyarrow import parquet
from record_samples import START_NS, practice
from typer.testing import CliRunner

from fusion.outputs.fit import FitProgress, FitReason, FitState
from fusion.outputs.instant import Angles, Doubt, Moment, Phase, Series, Spread
from fusion.outputs.rep import Checkpoint, Rep, RepFlag, RepRefined, Verdict
from sensors.events import RawPacket
from sensors.ids import Move
from sensors.record.writer import Recorder
from server.analysis import analysis, schema
from server.analysis.host_clock import ZERO_NOTE, HostClock
from server.analysis.missing_moves import cost, missing
from server.analysis.quantities import QUANTITIES
from server.analysis.reps_file import MarkValues
from server.cli import main
from server.cli.failures import CommandFailed

ROOT = Path(__file__).resolve().parents[2]
ZERO_S = 1_790_000_000

SHAFT_LEVEL = Checkpoint(
    t_s=0.55,
    angles=Angles(bend_rad=math.radians(-12.5), shaft_pitch_rad=math.radians(48.0), butt_line_m=0.21),
    spread=Spread(bend_rad=math.radians(1.5), shaft_pitch_rad=math.radians(2.0), butt_line_m=0.05),
    pitch_per_bend=-0.8,
    toe_rad=math.radians(4.0),
)
REP = Rep(
    arrival_ns=START_NS,
    index=1,
    address_s=0.2,
    takeaway_s=0.4,
    checkpoints={Phase.SHAFT_LEVEL: SHAFT_LEVEL, Phase.TOP: Checkpoint(t_s=1.25, angles=Angles())},
    backswing_s=0.85,
    downswing_s=0.25,
    verdict=Verdict.UNKNOWN,
    worst=None,
    out_s=0.0,
    doubt=Doubt.GAP,
    arm_length_rad=math.radians(140.0),
    shaft_length_rad=math.radians(-15.0),
    flags=(RepFlag.NO_STRIKE,),
)


class Told:
    """Stands in for the pipeline: a moment per sample of the first sensor's packets, and what it was told to say."""

    def __init__(self, *_, extra=(), **__):
        self._n = 0
        self._extra = list(extra)

    def close(self):
        return ()

    def push(self, event):
        if not isinstance(event, RawPacket) or event.sensor[-1] != "1":
            return ()
        moments = tuple(moment(self._n + i) for i in range(10))
        self._n += 10
        extra, self._extra = self._extra, []
        return (*extra, Series(arrival_ns=event.arrival_ns, moments=moments))


def moment(i):
    known = i % 3 != 0
    return Moment(
        t_s=i / 200,
        phase=Phase.TOP if known else Phase.IDLE,
        angles=Angles(bend_rad=math.radians(i / 100), arm_elevation_rad=1.0) if known else Angles(),
        spread=Spread(bend_rad=math.radians(1.0)) if known else Spread(),
        doubt=Doubt.NONE if known else Doubt.NO_ADDRESS,
    )


@pytest.fixture
def recording(tmp_path):
    def make(seconds=2.0, notes=None):
        path = tmp_path / "X.mcap"
        with Recorder(path, notes=notes) as recorder:
            for event in practice(seconds):
                recorder.write(event)
        return path

    return make


@pytest.fixture
def told(monkeypatch):
    def say(*extra):
        monkeypatch.setattr(analysis, "Pipeline", lambda *_, **__: Told(extra=extra))

    say()
    return say


def analyse(*words):
    result = CliRunner(env={"COLUMNS": "120"}).invoke(main.app, ["analyse", *map(str, words)])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code == 0
    return result.stdout


def test_the_series_read_by_parquets_own_reader(recording, told, tmp_path):
    path = recording(notes={ZERO_NOTE: str(ZERO_S)})
    analyse(path, "--series", tmp_path / "S.parquet")
    table = parquet.read_table(tmp_path / "S.parquet")
    names = ["bend_deg", "bend_change_deg", "hinge_deg", "hinge_change_deg", "forearm_roll_deg", "shaft_elevation_deg"]
    names += ["shaft_pitch_deg", "face_twist_deg", "butt_line_m"]
    both = [column for name in names for column in (name, f"{name}_sd")]
    assert table.column_names == ["host_time_s", "phase", *both, "quality"]
    assert table.num_rows == 400
    rows = table.to_pylist()
    assert rows[0] == dict.fromkeys(table.column_names) | {
        "host_time_s": ZERO_S + START_NS * 1e-9,
        "phase": "idle",
        "quality": "no_address",
    }
    seven = rows[7]
    assert seven["host_time_s"] == pytest.approx(ZERO_S + START_NS * 1e-9 + 0.035, abs=5e-7)
    assert (seven["phase"], seven["quality"]) == ("top", "ok")
    assert (seven["bend_deg"], seven["bend_deg_sd"]) == (pytest.approx(0.07), pytest.approx(1.0))
    assert seven["hinge_deg"] is None
    assert table.schema.field("bend_deg").metadata[b"unit"] == b"deg"
    assert table.schema.field("butt_line_m_sd").metadata[b"unit"] == b"m"
    assert all(pa.types.is_float64(table.schema.field(name).type) for name in both)


def test_a_recording_made_live_counts_on_its_own_stamps(recording, told, tmp_path):
    analyse(recording(), "--series", tmp_path / "S.parquet")
    assert parquet.read_table(tmp_path / "S.parquet")["host_time_s"][0].as_py() == pytest.approx(START_NS * 1e-9)


def test_a_row_group_is_a_minute(recording, told, tmp_path):
    analyse(recording(150.0), "--series", tmp_path / "S.parquet")
    about = parquet.ParquetFile(tmp_path / "S.parquet").metadata
    assert [about.row_group(i).num_rows for i in range(about.num_row_groups)] == [12_000, 12_000, 6_000]


def test_the_reps_obey_the_schema_and_say_what_the_pipeline_said(recording, told, tmp_path):
    told(REP)
    analyse(recording(notes={ZERO_NOTE: str(ZERO_S)}), "--reps", tmp_path / "R.json")
    reps = json.loads((tmp_path / "R.json").read_text())
    jsonschema.validate(reps, json.loads(schema.SCHEMA.read_text()), cls=jsonschema.Draft202012Validator)
    (rep,) = reps
    start_s = ZERO_S + START_NS * 1e-9
    assert rep["takeaway_s"] == pytest.approx(start_s + 0.4, abs=5e-7)
    assert rep["shaft_level_s"] == pytest.approx(start_s + 0.55, abs=5e-7)
    assert rep["top_s"] == pytest.approx(start_s + 1.25, abs=5e-7)
    assert (rep["lead_arm_level_s"], rep["impact_s"], rep["finish_s"]) == (None, None, None)
    assert rep["tempo"] == pytest.approx(0.85 / 0.25)
    assert rep["swing_length_arm_deg"] == pytest.approx(140.0)
    assert rep["swing_length_shaft_deg"] == pytest.approx(-15.0)
    assert (rep["flags"], rep["quality"]) == (["no_strike", "gap"], "gap")
    level = rep["values"]["shaft_level"]
    assert (level["bend_deg"], level["bend_deg_sd"]) == (pytest.approx(-12.5), pytest.approx(1.5))
    assert (level["butt_line_m"], level["pitch_per_bend"], level["toe_deg"]) == (0.21, -0.8, pytest.approx(4.0))
    assert level["hinge_deg"] is None
    assert rep["values"]["lead_arm_level"] is None


def test_a_refined_rep_replaces_the_first_word_on_it(recording, told, tmp_path):
    told(REP, RepRefined(arrival_ns=START_NS, rep=replace(REP, finish_s=2.0, doubt=Doubt.NONE)))
    text = analyse(recording(), "--reps", tmp_path / "R.json")
    (rep,) = json.loads((tmp_path / "R.json").read_text())
    assert rep["finish_s"] == pytest.approx(START_NS * 1e-9 + 2.0)
    assert rep["quality"] == "ok"
    assert "no strike" in text


def test_the_committed_schema_is_up_to_date():
    assert schema.SCHEMA.read_text(encoding="utf-8") == schema.text(), "run python -m server.analysis.schema"


def test_reps_and_series_have_the_same_quantities():
    names = [name for quantity in QUANTITIES for name in (quantity.name, quantity.sd_name)]
    assert [*MarkValues.model_fields][: len(names)] == names
    assert {quantity.source for quantity in QUANTITIES} == {*Spread._fields}


def test_the_summary_tells_moves_reps_and_what_is_missing(recording, told):
    told(
        FitProgress(arrival_ns=1, move=Move.STILL, state=FitState.COLLECTING),
        FitProgress(arrival_ns=1, move=Move.STILL, state=FitState.TAKEN),
        FitProgress(
            arrival_ns=1,
            move=Move.TWIRL,
            state=FitState.REJECTED,
            reason=FitReason.TOO_LITTLE,
            measured=12.5,
            limit=40.0,
        ),
    )
    text = analyse(recording())
    assert "too little (12.50, limit 40.00)" in text
    assert "The fit is not complete" in text
    assert "Without club twirled: " in text
    assert "Without sensors still: " not in text
    assert "No swings in it." in text


def test_every_move_has_its_cost():
    assert missing([Move.STILL]) == [move for move in Move if move is not Move.STILL]
    assert len({cost(move) for move in Move}) == len(Move)


def test_the_host_clock_is_exact_on_any_epoch():
    clock = HostClock({ZERO_NOTE: "-4"})
    clock.see(250_000_000)
    clock.see(900_000_000)
    assert clock.host_s(0.5) == -3.25
    assert clock.host_s_or_none(None) is None


def test_files_are_replaced_but_never_the_recording_itself(recording, told, tmp_path):
    path = recording()
    (tmp_path / "R.json").write_text("old")
    analyse(path, "--reps", tmp_path / "R.json")
    assert json.loads((tmp_path / "R.json").read_text()) == []
    for words in (("--series", path), ("--series", tmp_path / "A", "--reps", tmp_path / "." / "A")):
        with pytest.raises(CommandFailed, match="a file each"):
            analyse(path, *words)


@pytest.mark.parametrize("error", [KeyboardInterrupt, RuntimeError])
def test_a_stop_half_way_leaves_no_half_file(recording, monkeypatch, tmp_path, error):
    class Stops(Told):
        def push(self, event):
            if event.arrival_ns > START_NS + 80_000_000_000:
                raise error
            return super().push(event)

    monkeypatch.setattr(analysis, "Pipeline", Stops)
    path = recording(90.0)
    (tmp_path / "S.parquet").write_text("old")
    words = ["analyse", path, "--series", tmp_path / "S.parquet", "--reps", tmp_path / "R.json"]
    result = CliRunner().invoke(main.app, [*map(str, words)])
    assert result.exit_code != 0
    assert (tmp_path / "S.parquet").read_text() == "old"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["S.parquet", "X.mcap"]


FULL = """
import resource, signal
from server.analysis import analysis
from server.cli.main import main
from test_analyse import Told
analysis.Pipeline = Told
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))
main()
"""


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX limits")
def test_a_full_disk_is_one_sentence_and_exit_code_2(recording, tmp_path):
    """The kernel's own refusal at 20 kB, as in test_record_writer.py."""
    path = recording(150.0)
    out = tmp_path / "S.parquet"
    answer = subprocess.run(
        [sys.executable, "-c", FULL, "analyse", str(path), "--series", str(out)],
        cwd=ROOT,
        env={"PYTHONPATH": f"{ROOT}:{ROOT / 'tests' / 'unit'}"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert answer.returncode == 2, answer.stderr
    assert answer.stderr == f"{out} was not written: the disk is full; free some space, or choose another place.\n"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["X.mcap"]


def test_a_damaged_recording_is_worked_out_and_told(recording, told, tmp_path):
    path = recording(10.0)
    path.write_bytes(path.read_bytes()[:-20_000])
    assert "ends abruptly" in analyse(path, "--series", tmp_path / "S.parquet")
    assert 0 < parquet.read_table(tmp_path / "S.parquet").num_rows < 2000
