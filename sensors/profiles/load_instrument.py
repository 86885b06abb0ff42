"""The part of a profile file about one instrument, [gyroscope] or [accelerometer]: scale, ends of the range, axes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from sensors.profiles.base import Axes, Instrument
from sensors.profiles.layout import Layout
from sensors.profiles.toml_table import Table, quoted
from sensors.profiles.write import INTEGER_BITS

STANDARD_GRAVITY_M_S2: Final = 9.80665
_SI: Final = {"deg/s": math.radians(1.0), "rad/s": 1.0, "g": STANDARD_GRAVITY_M_S2, "m/s2": 1.0}
_BEYOND: Final = 2.0
"""A floating-point reading this many times the range is no reading."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What the two sections differ in."""

    section: str
    field: str
    """Its samples' name in [samples]."""
    range_unit: str
    units: tuple[str, ...]
    range_keys: tuple[str, str]
    """Read with the other choices, in `load.py`."""


GYROSCOPE: Final = Part(
    section="gyroscope", field="gyr", range_unit="deg/s", units=("deg/s", "rad/s"), range_keys=("range_deg_s", "choices_deg_s")
)  # fmt: skip
ACCELEROMETER: Final = Part(
    section="accelerometer", field="acc", range_unit="g", units=("g", "m/s2"), range_keys=("range_g", "choices_g")
)  # fmt: skip


def read_instrument(whole: Table, part: Part, own_range: float, chosen_range: float) -> Instrument:
    """Read one, with the chosen range in force; raises `ProfileError`, with the line."""
    table = whole.needed(part.section)
    for key in part.range_keys:
        table.raw(key, None)
    full_scale = table.number("full_scale", 1e-6, 2.0**63, None)
    scale = table.number("scale", 1e-12, 1e6, None)
    if (full_scale is None) == (scale is None):
        raise table.error(
            "give either full_scale (the raw number at the end of the range) or scale with unit (units for one raw number)",
            "scale" if scale is not None else "full_scale",
        )
    range_si = chosen_range * _SI[part.range_unit]
    ends = table.numbers("saturated", -(2.0**63), 2.0**63)
    if len(ends) != 2 or not ends[0] < 0 < ends[1]:
        raise table.error(
            "saturated must be two raw numbers, the lowest below 0 and the highest above, at the ends", "saturated"
        )
    if full_scale is not None:
        si_per_count = range_si / full_scale
    else:
        si_per_count = scale * _SI[table.choice("unit", part.units)]
        # A raw number means the same at every range: where a narrower range ends goes along with it.
        share = min(1.0, chosen_range / own_range)
        ends = (ends[0] * share, ends[1] * share)
    axes = _axes(table)
    table.done()
    return Instrument(si_per_count=si_per_count, axes=axes, range_si=range_si, lowest=ends[0], highest=ends[1])


def largest(layout: Layout, part: Part, instrument: Instrument) -> float | None:
    """Give the largest raw number that can be believed, for floating point; whole numbers are held by their type."""
    if type_of(layout, part) in INTEGER_BITS:
        return None
    return _BEYOND * max(instrument.range_si / instrument.si_per_count, instrument.highest, -instrument.lowest)


def type_of(layout: Layout, part: Part) -> str:
    """Say in which type its raw numbers are sent."""
    return next(one.number_type for one in layout.sample if one.name == part.field)


def _axes(table: Table) -> Axes:
    words = table.texts("axes", ("+x", "+y", "+z"))
    allowed = 'three of "+x" "-x" "+y" "-y" "+z" "-z", each letter once'
    if len(words) != 3 or any(word not in {"+x", "-x", "+y", "-y", "+z", "-z"} for word in words):
        raise table.error(f"axes is {quoted(words)}; allowed: {allowed}", "axes")
    order = tuple("xyz".index(word[1]) for word in words)
    signs = tuple(1 if word[0] == "+" else -1 for word in words)
    if sorted(order) != [0, 1, 2]:
        raise table.error(f"axes is {quoted(words)}; allowed: {allowed}", "axes")
    swaps = sum(order[i] > order[j] for i in range(3) for j in range(i + 1, 3))
    determinant = (-1) ** swaps * math.prod(signs)
    mirrored = table.flag("left_handed", default=False)
    if determinant != (-1 if mirrored else 1):
        raise table.error(
            f"axes is {quoted(words)}, which leaves the axes left-handed (determinant {determinant}): swap two of them or turn "
            "one sign" + ("" if mirrored else "; if the device's own axes are left-handed, say so: left_handed = true"),
            "axes" if "axes" in table else "left_handed",
        )
    return Axes(order=(order[0], order[1], order[2]), signs=(signs[0], signs[1], signs[2]))
