"""Lengths on the terminal, in centimetres or inches; marks and notes beside the reps."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction

import pytest
from typer.testing import CliRunner

from sensors.events import MessageSaid, NoteWritten, PlayerSet, RepMark, RepMarked
from sensors.record.reader import read_events
from sensors.record.writer import Recorder
from server.cli import main
from server.cli.demo_recording import demo_recording
from server.units import Units, length_words, units_here

INCH_M = Fraction(254, 10_000)
"""Exact: the international yard and pound agreement of 1959 (yard 0.9144 m); NIST SP 811, appendix B."""


@pytest.mark.parametrize(
    ("environment", "units"),
    [
        ({}, Units.METRIC),
        ({"LANG": "C.UTF-8"}, Units.METRIC),
        ({"LANG": "en_US.UTF-8"}, Units.IMPERIAL),
        ({"LANG": "en_GB.UTF-8"}, Units.METRIC),
        ({"LANG": "en_US.UTF-8", "LC_MEASUREMENT": "de_DE.UTF-8"}, Units.METRIC),
        ({"LANG": "de_DE", "LC_MEASUREMENT": "", "LC_ALL": "my_MM@x"}, Units.IMPERIAL),
        ({"LANG": "en_LR"}, Units.IMPERIAL),
    ],
)
def test_the_locale_decides(environment, units):
    assert units_here(environment) is units


@pytest.mark.parametrize("inches", ["37", "37.25", "24", "0.5"])
def test_an_inch_is_what_was_agreed(inches):
    length_m = Fraction(inches) * INCH_M
    assert length_words(float(length_m), Units.IMPERIAL) == f"{inches} in"
    assert length_words(float(length_m), Units.METRIC) == f"{float(round(100 * length_m, 1)):g} cm"


@pytest.fixture(scope="module")
def remarked(tmp_path_factory):
    """The demo of a player whose lengths are known, with a coach beside it."""
    path = tmp_path_factory.mktemp("remarked") / "a.mcap"
    events = list(read_events(demo_recording()))
    end_ns = events[-1].arrival_ns
    extra = [
        RepMarked(arrival_ns=end_ns, rep=3, mark=RepMark.GOOD, by="coach"),
        RepMarked(arrival_ns=end_ns, rep=4, mark=RepMark.LOOK, by="coach"),
        RepMarked(arrival_ns=end_ns, rep=3, mark=RepMark.LOOK, by="coach"),
        RepMarked(arrival_ns=end_ns, rep=5, mark=RepMark.GOOD, by="student"),
        RepMarked(arrival_ns=end_ns, rep=5, mark=RepMark.NONE, by="student"),
        NoteWritten(arrival_ns=end_ns, rep=4, text="Elbow [behind] again.", by="coach"),
        NoteWritten(arrival_ns=end_ns, text="Less wind today.", by=""),
        MessageSaid(arrival_ns=end_ns, text="Slower.", by="coach"),
    ]
    with Recorder(path) as recorder:
        for event in [*events, *extra]:
            known = isinstance(event, PlayerSet)
            recorder.write(replace(event, club_length_m=0.9398, arm_length_m=0.61) if known else event)
    return path


def run(*words):
    result = CliRunner(env={"COLUMNS": "100"}).invoke(main.app, [*map(str, words)], catch_exceptions=False)
    assert result.exit_code == 0
    return result.stdout


SAID = (
    "To look at again: reps 3, 4.",
    "coach on rep 4: Elbow [behind] again.",
    "somebody on the practice: Less wind today.",
    "coach to the student: Slower.",
)


def test_inspect_shows_lengths_in_the_units_asked_for_and_what_was_said(remarked):
    imperial, metric = (run("inspect", remarked, "--units", units) for units in ("imperial", "metric"))
    assert "club 37 in, arm 24.02 in" in imperial
    assert "club 94 cm, arm 61 cm" in metric
    for text in SAID:
        assert text in metric, text
    assert "Marked good" not in metric
    values = json.loads(run("inspect", remarked, "--json", "--units", "imperial"))
    assert values["player"]["club_length_m"] == 0.9398
    assert [one["kind"] for one in values["remarks"]] == ["mark"] * 5 + ["note"] * 2 + ["said"]


def test_analyse_has_them_with_the_reps(remarked, tmp_path):
    text = run("analyse", remarked, "--reps", tmp_path / "reps.json")
    for words in SAID:
        assert words in text, words
    reps = json.loads((tmp_path / "reps.json").read_bytes())
    assert [rep["mark"] for rep in reps[:6]] == [None, None, "look", "look", None, None]
    assert [rep["notes"] for rep in reps[2:5]] == [[], ["Elbow [behind] again."], []]
