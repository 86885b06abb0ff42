"""The demo recording is what the model makes, and its truth stands beside it."""

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from fusion.outputs.instant import Phase
from fusion.outputs.rep import Rep, Verdict
from sensors.events import RawPacket
from sensors.profiles.open_imu import unpack
from sensors.record.reader import ReadReport, read_events
from sensors.virtual.demo import NAME, demo_session
from tests.virtual import run_pipeline

FOLDER = Path(__file__).resolve().parents[2] / "recordings"
REMAKE = "remake it: python -m sensors.virtual.demo recordings"


@pytest.fixture(scope="module")
def events():
    report = ReadReport()
    events = list(read_events(FOLDER / f"{NAME}.mcap", report=report))
    assert report.is_clean
    return events


def test_it_is_what_the_model_makes(events):
    made = list(demo_session().events())
    assert len(made) == len(events), REMAKE
    for ours, recorded in zip(made, events, strict=True):
        if not isinstance(ours, RawPacket):
            assert ours == recorded, REMAKE
            continue
        # Another processor's sines may differ in the last bit, and rounding then in the last count.
        assert (ours.sensor, ours.arrival_ns // 1000) == (recorded.sensor, recorded.arrival_ns // 1000), REMAKE
        a, b = unpack(ours.payload), unpack(recorded.payload)
        assert a.sequence == b.sequence
        assert np.abs(a.counts.astype(int) - b.counts).max() <= 1, REMAKE


def test_its_truth_stands_beside_it_and_the_pipeline_agrees(events):
    marks = json.loads((FOLDER / f"{NAME}.truth.json").read_text())["swings"]
    with (FOLDER / f"{NAME}.truth.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    reps = [output for output in run_pipeline(events) if isinstance(output, Rep)]
    assert len(reps) == len(marks) == 12
    off = []
    for rep, mark in zip(reps, marks, strict=True):
        top = rep.checkpoints[Phase.TOP]
        assert top.t_s == pytest.approx(mark["top_s"], abs=0.01)
        swing = [row for row in rows if int(row["swing"]) == rep.index]
        t_s = [float(row["t_s"]) for row in swing]
        true_deg = np.interp(mark["top_s"], t_s, [float(row["bend_change_deg"]) for row in swing])
        off.append(np.degrees(top.angles.bend_change_rad) - true_deg)
    assert np.sqrt(np.mean(np.square(off))) < 3.0
    verdicts = [rep.verdict for rep in reps]
    assert verdicts[0] is Verdict.BELOW
    assert verdicts[-1] is Verdict.IN_BAND
