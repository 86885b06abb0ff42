"""A drill from its text: ours are sound, and a slip in one is told with its line."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fusion.drills.course import Block, CueShare
from fusion.drills.drill import Drill
from fusion.drills.parse import DrillInvalid, drill_from
from fusion.drills.quantity import STATED_ERROR, Quantity
from fusion.drills.write import text_of
from fusion.outputs.instant import Phase
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
    assert math.degrees(drill.low) == pytest.approx(-8)
    assert math.degrees(drill.hysteresis) == pytest.approx(1.5)
    assert [(block.n_reps, block.cue) for block in drill.blocks] == [(10, CueShare.HALF)]


@pytest.mark.parametrize(
    ("key", "value", "line", "said"),
    [
        ("quantity", '"wrist"', 4, 'allowed: "arm_length", "backswing_time", "bend", "face_twist", "roll"'),
        ("quantity", '"roll"', 5, "leave counted_from out"),
        ("quantity", '"tempo"', 5, "leave counted_from out"),
        ("counted_from", '"finish"', 5, 'allowed: "address", "straight_wrist"'),
        ("from", '"down"', 6, 'allowed: "takeaway"'),
        ("to", '"takeaway"', 7, 'allowed: "shaft_level"'),
        ("low_deg", "22", 9, "3 deg wide; the least is 4 deg, twice this quantity's error"),
        ("low_deg", "nan", 8, "from -360 to 360"),
        ("low_deg", "true", 8, "from -360 to 360"),
        ("high_deg", '"x"', 9, "from -360 to 360"),
        ("name", '""', 1, "1 to 60"),
        ("name", '"a\\nb"', 1, "1 to 60"),
        ("reps", "0", 12, "reps must be a number from 1 to 200, not 0"),
        ("reps", "2.5", 12, "whole number"),
        ("cue", '"often"', 13, 'allowed: "every", "half", "quarter", "none"'),
    ],
)
def test_a_slip_is_told_with_its_line(key, value, line, said):
    with pytest.raises(DrillInvalid, match=re.escape(said)) as caught:
        drill_from(changed(key, value))
    assert caught.value.line == line


def test_keys_that_are_missing_or_unknown_and_text_that_is_no_toml():
    with pytest.raises(DrillInvalid, match="feel is missing"):
        drill_from(TEXT.replace('feel = "Feel it."\n', ""))
    with pytest.raises(DrillInvalid, match="there is no key 'tone' here") as caught:
        drill_from('tone = "C"\n' + TEXT)
    assert caught.value.line == 1
    with pytest.raises(DrillInvalid, match=r"line 1: this is not TOML"):
        drill_from("name = \n")
    with pytest.raises(DrillInvalid, match="there is no key 'tone' here"):
        drill_from(TEXT + 'tone = "C"\n')
    with pytest.raises(DrillInvalid, match="longer than"):
        drill_from("#" * 30_000)
    with pytest.raises(DrillInvalid, match="this is not TOML"):
        drill_from("x = " + "[" * 5000)


@given(st.text(max_size=200), st.integers(0, len(TEXT)))
def test_any_text_is_a_drill_or_told(junk, at):
    """Splicing junk in never crashes, and never gives a band that cues noise."""
    try:
        drill = drill_from(TEXT[:at] + junk + TEXT[at:])
    except DrillInvalid:
        return
    assert isinstance(drill, Drill)
    assert math.degrees(drill.high - drill.low) >= 2 * STATED_ERROR[drill.quantity] - 1e-9


@pytest.mark.parametrize("one", our_drills(), ids=lambda one: one.id)
def test_ours_end_in_a_test_and_fade_towards_it(one):
    # Winstein and Schmidt 1990: feedback that fades keeps better; the direction, not the shares, is published.
    shares = [block.cue.every for block in one.drill.blocks]
    assert shares[-1] is None
    assert shares[:-1] == sorted(shares[:-1])
    assert bool(one.drill.phases) is not one.drill.quantity.at_end


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
        assert math.ceil(10 * max(found) - 1e-9) / 10 == pytest.approx(STATED_ERROR[quantity], abs=0.051), name
    for quantity in set(Quantity) - set(names):
        (found,) = re.findall(rf"^\| {quantity}(?:, \w+)? \| \w+ \| ([\d.]+) ", page, re.MULTILINE)
        assert 1.0 <= STATED_ERROR[quantity] / float(found) < 1.3, quantity


@pytest.mark.parametrize("quantity", Quantity)
@pytest.mark.parametrize("warn", [None, 0.2])
def test_what_is_written_is_read_again(quantity, warn):
    unit, wide = quantity.unit, 10 * STATED_ERROR[quantity]
    drill = Drill(
        name='Say "turn" \\ now', aim="Ein grüßender Schaft.", feel="f", quantity=quantity,
        phases=() if quantity.at_end else (Phase.SHAFT_LEVEL, Phase.ARM_LEVEL),
        low=unit.inside(1.25), high=unit.inside(1.25 + wide), hysteresis=0.0 if quantity.at_end else unit.inside(0.5),
        warn=None if warn is None or quantity.at_end else unit.inside(warn),
        blocks=(Block(n_reps=3, cue=CueShare.HALF), Block(n_reps=1, cue=CueShare.NONE)),
    )  # fmt: skip
    again = drill_from(text_of(drill))
    for key in ("low", "high", "hysteresis", "warn"):
        assert getattr(again, key) == pytest.approx(getattr(drill, key)), key
    same = {key: getattr(drill, key) for key in ("low", "high", "hysteresis", "warn")}
    assert replace(again, **same) == drill


TEMPO = 'name = "T"\naim = "a"\nfeel = "f"\nquantity = "tempo"\nlow = 2.6\nhigh = 4.0\n'


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('from = "takeaway"', "tempo is of the whole swing; leave from out"),
        ("low_deg = 3", "there is no key 'low_deg' here"),
        ("hysteresis = 0.1", "there is no key 'hysteresis' here"),
        ("warn = 0.1", "there is no key 'warn' here"),
    ],
)
def test_a_drill_on_the_whole_swing_says_no_more_than_it_can(line, said):
    drill = drill_from(TEMPO)
    assert (drill.low, drill.high, drill.phases, drill.hysteresis) == (2.6, 4.0, (), 0.0)
    with pytest.raises(DrillInvalid, match=re.escape(said)):
        drill_from(TEMPO + line + "\n")
    with pytest.raises(DrillInvalid, match=r"the least is 0\.4, twice"):
        drill_from(TEMPO.replace("4.0", "2.9"))


@pytest.mark.parametrize(("warn", "ok"), [("3", True), ("15", True), ("15.1", False), ("0", False)])
def test_the_warning_leaves_room_in_the_middle(warn, ok):
    # Half the band is 16.5 deg, the hysteresis 1.5: beyond 15 it would never be left again.
    if ok:
        assert math.degrees(
            drill_from(TEXT.replace("high_deg = 25", f"high_deg = 25\nwarn_deg = {warn}")).warn
        ) == pytest.approx(float(warn))
        return
    with pytest.raises(DrillInvalid, match="warn_deg must be more than 0 and at most 15") as caught:
        drill_from(TEXT.replace("high_deg = 25", f"high_deg = 25\nwarn_deg = {warn}"))
    assert (caught.value.key, caught.value.line) == (("warn_deg",), 10)
