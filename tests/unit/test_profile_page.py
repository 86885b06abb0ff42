"""docs/adding-a-sensor.md names every key that a profile may have, and no other."""

import re
from pathlib import Path

import pytest

from sensors.errors import ProfileError
from sensors.profiles.load import load_profile
from sensors.profiles.registry import PROFILES

PAGE = (Path(__file__).resolve().parents[2] / "docs" / "adding-a-sensor.md").read_text(encoding="utf-8")
FORM = PAGE[PAGE.index("## The file, section by section") : PAGE.index("## What a clock is worth")]
OPEN, GSP = PROFILES["open-imu-1"].text, PROFILES["movesense-gsp"].text
SECTIONS = (
    "profile", "bluetooth", "find", "battery", "commands", "rate", "packet", "samples", "clock", "sequence", "split",
    "gyroscope", "accelerometer", "worn",
)  # fmt: skip
BESIDE = {
    "commands": {"write", "to", "response"},  # of one write
    "packet": {"name", "type", "n", "equals", "min", "max"},  # of one field
    "gyroscope": {"unit", "range_g", "choices_g"},  # the two instruments share a table; unit goes with scale
    "accelerometer": {"unit", "range_deg_s", "choices_deg_s"},
}


def section_of_the_page(name):
    """From the paragraph that begins with the section's name to the next such paragraph."""
    parts = re.split(r"^(?=\*\*`\[)", FORM, flags=re.MULTILINE)
    (found,) = [part for part in parts if f"`[{name}]`**" in part.split("\n")[0].split(":")[0]]
    return found


@pytest.mark.parametrize("name", SECTIONS)
def test_keys_of_a_section(name):
    text = GSP if name == "split" else OPEN
    with pytest.raises(ProfileError, match="there is no key") as caught:
        load_profile(text.replace(f"[{name}]", f"[{name}]\nqqq = 1", 1), "x")
    allowed = set(caught.value.problem.split("allowed: ")[1].split(", "))
    page = section_of_the_page(name)
    assert allowed <= set(re.findall(r"`([a-z_]+)`", page))
    rows = {key for row in re.findall(r"^\| (`.*?) \|", page, re.MULTILINE) for key in re.findall(r"`([a-z_]+)`", row)}
    assert rows <= allowed | BESIDE.get(name, set())
