"""A drill from its text: ours are sound, and a slip in one is told with its line."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fusion.drills.course import CueShare
from fusion.drills.drill import STATED_ERROR_DEG, Drill, Quantity
from fusion.drills.parse import DrillInvalid, drill_from
from fusion.outputs import Phase
from server.drills import our_drills

TEXT = """\
name = "Quiet"
aim = "It stays."
feel = "Feel it."
quantity = "bend"
counted_from = "address"
from = "takeaway"
to = "lead_arm_level"
low_deg = -8
high_deg = 25

[[blocks]]
reps = 10
cue = "half"
"""


def changed(key, value):
    return re.sub(rf"^{key} = .*$", lambda _: f"{key} = {value}", TEXT, flags=re.MULTILINE)


def test_what_a_drill_says():
    drill = drill_from(TEXT)
    assert (drill.name, drill.quantity) == ("Quiet", Quantity.BEND_CHANGE)
    assert drill.phases == (Phase.TAKEAWAY, Phase.SHAFT_LEVEL)
    assert math.degrees(drill.low_rad) == pytest.approx(-8)
    assert math.degrees(drill.hysteresis_rad) == pytest.approx(1.5)
    assert [(block.n_reps, block.cue) for block in drill.blocks] == [(10, CueShare.HALF)]


@pytest.mark.parametrize(
    ("key", "value", "line", "said"),
    [
        ("quantity", '"wrist"', 4, "one of bend, face_twist, roll, shaft_pitch"),
        ("quantity", '"roll"', 5, "leave this out"),
        ("counted_from", '"finish"', 5, "one of address, straight_wrist"),
        ("from", '"down"', 6, "one of takeaway"),
        ("to", '"takeaway"', 7, "one of shaft_level"),
        ("low_deg", "22", 9, "twice this quantity's error is 4.8"),
        ("low_deg", "nan", 8, "from -360 to 360"),
        ("low_deg", "true", 8, "from -360 to 360"),
        ("high_deg", '"x"', 9, "from -360 to 360"),
        ("name", '""', 1, "1 to 60"),
        ("name", '"a\\nb"', 1, "1 to 60"),
        ("reps", "0", 12, "whole number from 1 to 200"),
        ("reps", "2.5", 12, "whole number"),
        ("cue", '"often"', 13, "one of every, half, quarter, none"),
    ],
)
def test_a_slip_is_told_with_its_line(key, value, line, said):
    with pytest.raises(DrillInvalid, match=re.escape(said)) as caught:
        drill_from(changed(key, value))
    assert caught.value.line == line


def test_keys_that_are_missing_or_unknown_and_text_that_is_no_toml():
    with pytest.raises(DrillInvalid, match="feel is missing"):
        drill_from(TEXT.replace('feel = "Feel it."\n', ""))
    with pytest.raises(DrillInvalid, match="unknown key 'tone'") as caught:
        drill_from('tone = "C"\n' + TEXT)
    assert caught.value.line == 1
    with pytest.raises(DrillInvalid, match=r"not TOML.*line 1"):
        drill_from("name = \n")
    with pytest.raises(DrillInvalid, match="nothing else"):
        drill_from(TEXT + 'tone = "C"\n')
    with pytest.raises(DrillInvalid, match="longer than"):
        drill_from("#" * 30_000)
    with pytest.raises(DrillInvalid, match="nested too deeply"):
        drill_from("x = " + "[" * 5000)


@given(st.text(max_size=200), st.integers(0, len(TEXT)))
def test_any_text_is_a_drill_or_told(junk, at):
    """Splicing junk in never crashes, and never gives a band that cues noise."""
    try:
        drill = drill_from(TEXT[:at] + junk + TEXT[at:])
    except DrillInvalid:
        return
    assert isinstance(drill, Drill)
    assert math.degrees(drill.high_rad - drill.low_rad) >= 2 * STATED_ERROR_DEG[drill.quantity] - 1e-9


@pytest.mark.parametrize("one", our_drills(), ids=lambda one: one.id)
def test_ours_end_in_a_test_and_fade_towards_it(one):
    # Winstein and Schmidt 1990: feedback that fades keeps better; the direction, not the shares, is published.
    shares = [block.cue.every for block in one.drill.blocks]
    assert shares[-1] is None
    assert shares[:-1] == sorted(shares[:-1])
    assert one.drill.phases


def test_the_stated_errors_are_those_of_the_accuracy_page():
    page = (Path(__file__).parents[2] / "docs" / "accuracy.md").read_text(encoding="utf-8")
    names = {
        Quantity.BEND_CHANGE: "bend_change_deg",
        Quantity.BEND: "bend_deg",
        Quantity.SHAFT_PITCH: "shaft_pitch_deg",
        Quantity.FACE_TWIST: "face_twist_deg",
        Quantity.ROLL_CHANGE: "forearm_roll_deg",
    }
    for quantity, name in names.items():
        found = [float(rmse) for rmse in re.findall(rf"^\| {name} \| \w+ \| ([\d.]+) ", page, re.MULTILINE)]
        assert math.ceil(10 * max(found) - 1e-9) / 10 == pytest.approx(STATED_ERROR_DEG[quantity], abs=0.051), name
