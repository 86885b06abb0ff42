"""The report on paper, read back by PDFium (a PDF engine that shares no code with what wrote it)."""

from __future__ import annotations

import json
import re

import numpy as np
import pypdfium2
import pytest
from typer.testing import CliRunner

from sensors.events import PlayerSet
from sensors.ids import Side
from sensors.record.reader import read_events
from sensors.record.writer import Recorder
from server.cli.demo_recording import demo_recording
from server.cli.failures import CommandFailed
from server.cli.main import app
from server.report.figures import DOWN_THE_LINE, FACE_ON, seen_from
from server.report.numbers import NONE

DEMO = demo_recording()
PRIORITY = "Keep the back of the lead hand flat until the shaft is level"


def run(*args):
    result = CliRunner().invoke(app, [str(arg) for arg in args])
    assert result.exit_code == 0, result.output
    return result


@pytest.fixture(scope="module")
def sheets(tmp_path_factory):
    folder = tmp_path_factory.mktemp("report")
    run(
        "answer", DEMO, "--by", "Wenna Hale", "--priority", PRIORITY, "--note", "4@0.55:here the wrist cups",
        "--drill", "3-flatter-shaft", "-o", folder / "a.mcap",
    )  # fmt: skip
    run("report", folder / "a.mcap", "-o", folder / "r.pdf", "--units", "metric")
    return pypdfium2.PdfDocument(folder / "r.pdf")


def text_of(sheet):
    return sheet.get_textpage().get_text_bounded().replace("\r\n", "\n")


def test_two_sheets_of_a4_say_who_what_to_change_and_what_was_noted(sheets):
    assert [[round(inch / 72, 2) for inch in sheet.get_size()] for sheet in sheets] == [[8.27, 11.69]] * 2
    first, second = (text_of(sheet) for sheet in sheets)
    for told in ("Maren Tolk · 7-iron · 2026-06-01", PRIORITY, "says Wenna Hale", "To practise: Lay the shaft down."):
        assert told in first
    assert "Rep 4, 0.55 s after takeaway: here the wrist cups" in second
    assert all("not medical advice" in text for text in (first, second))


def test_the_figures_are_the_medians_of_what_analyse_gives(sheets, tmp_path):
    run("analyse", DEMO, "--reps", tmp_path / "r.json")
    reps = json.loads((tmp_path / "r.json").read_bytes())
    first = text_of(sheets[0])
    for shown, name in (("bend since address", "bend_change_deg"), ("shaft pitch", "shaft_pitch_deg")):
        (row,) = [line for line in first.splitlines() if line.startswith(shown) and "±" in line]
        cells = re.findall(r"(−?[\d.]+) \((−?\d+) to (−?\d+)\) ±([\d.]+)", row)
        cells = [[float(text.replace("−", "-")) for text in cell] for cell in cells]
        marks = ("shaft_level", "lead_arm_level", "top") if name == "bend_change_deg" else ("lead_arm_level", "top")
        assert len(cells) == len(marks)
        assert (NONE in row) is (len(marks) == 2)
        for (middle, low, high, sd), mark in zip(cells, marks, strict=True):
            values = [rep["values"][mark][name] for rep in reps]
            assert middle == pytest.approx(np.median(values), abs=0.051)
            assert [low, high] == pytest.approx(list(np.percentile(values, [25, 75])), abs=0.51)
            assert sd == pytest.approx(np.median([rep["values"][mark][f"{name}_sd"] for rep in reps]), abs=0.051)
    judged = json.loads(run("inspect", DEMO, "--json").stdout)["reps"]
    n_in = sum(rep["verdict"] == "in_band" for rep in judged)
    assert f"Quiet wrist going back: {n_in} of {len(reps)} in the band with the cue" in first
    (row,) = [line for line in first.splitlines() if line.startswith("butt line, cm")]
    butt_m = np.median([rep["values"]["lead_arm_level"]["butt_line_m"] for rep in reps])
    assert float(re.search(r"(−?[\d.]+) \(", row)[1].replace("−", "-")) == pytest.approx(100 * butt_m, abs=0.051)


def test_nothing_is_printed_nearer_than_5_mm_to_the_edge_however_long_it_is(tmp_path):
    """Printers leave so much white: common practice, no source."""
    wide, note = "W" * 60, "wide WORDS " * 45
    with Recorder(tmp_path / "w.mcap") as recorder:
        for event in read_events(DEMO):
            recorder.write(PlayerSet(arrival_ns=event.arrival_ns, name=wide, lead_side=Side.LEFT, club="7-iron")
                           if isinstance(event, PlayerSet) else event)  # fmt: skip
    notes = [word for rep in range(1, 10) for word in ("--note", f"{rep}:{note.strip()}")]
    run("answer", tmp_path / "w.mcap", "--by", wide, "--priority", "W" * 199, *notes, "-o", tmp_path / "a.mcap")
    run("report", tmp_path / "a.mcap", "-o", tmp_path / "r.pdf", "--units", "imperial")
    assert "butt line, in" in text_of(pypdfium2.PdfDocument(tmp_path / "r.pdf")[0])
    for sheet in pypdfium2.PdfDocument(tmp_path / "r.pdf"):
        ink = np.asarray(sheet.render(scale=1.0).to_pil().convert("L")) < 250
        rows, columns = np.flatnonzero(ink.any(axis=1)), np.flatnonzero(ink.any(axis=0))
        for first, last, n in ((rows[0], rows[-1], ink.shape[0]), (columns[0], columns[-1], ink.shape[1])):
            assert first > 5 / 25.4 * 72
            assert last < n - 5 / 25.4 * 72
    assert "more are in the recording." in text_of(pypdfium2.PdfDocument(tmp_path / "r.pdf")[1])


def test_a_camera_sees_a_right_handers_takeaway_on_its_left_and_a_left_handers_on_its_right():
    """Common practice, no source: face-on, and down the line with the ball to the right of a right-hander's hands."""
    head_to_the_right_m = np.array([[1.0, 0.0, 0.5]])  # past the trail leg of a player whose left arm leads
    ball_outward_m = np.array([[0.0, 1.0, 0.0]])
    assert seen_from(FACE_ON, head_to_the_right_m, Side.LEFT)[0] == pytest.approx([-1.0, 0.5])
    assert seen_from(FACE_ON, -head_to_the_right_m, Side.RIGHT)[0] == pytest.approx([1.0, -0.5])
    assert seen_from(DOWN_THE_LINE, ball_outward_m, Side.LEFT)[0] == pytest.approx([1.0, 0.0])
    assert seen_from(DOWN_THE_LINE, ball_outward_m, Side.RIGHT)[0] == pytest.approx([-1.0, 0.0])


def test_a_name_in_any_script_and_with_signs_of_formulas_is_printed_as_it_is(tmp_path):
    name = "Ήρα $x^2$ Жук"
    with Recorder(tmp_path / "n.mcap") as recorder:
        for event in read_events(DEMO):
            if event.arrival_ns > 64e9:
                break
            recorder.write(PlayerSet(arrival_ns=event.arrival_ns, name=name, lead_side=Side.LEFT, club="7-iron")
                           if isinstance(event, PlayerSet) else event)  # fmt: skip
    run("report", tmp_path / "n.mcap")
    assert name in text_of(pypdfium2.PdfDocument(tmp_path / "n.pdf")[0])


def test_what_cannot_be_reported_is_told(tmp_path, monkeypatch):
    with Recorder(tmp_path / "empty.mcap"):
        pass
    result = CliRunner().invoke(app, ["report", str(tmp_path / "empty.mcap")])
    assert "no swing" in str(result.exception)
    assert not (tmp_path / "empty.pdf").exists()
    monkeypatch.setattr("server.cli.report.find_spec", lambda _: None)
    result = CliRunner().invoke(app, ["report", str(DEMO), "-o", str(tmp_path / "r.pdf")])
    assert isinstance(result.exception, CommandFailed)
    assert 'pip install "pitchbend[report]"' in str(result.exception)
