"""The quantities that an analysis gives out: their names and units outside, and where each is found inside."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from fusion.outputs.instant import Angles, Doubt, Spread

OK: Final = "ok"


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """One quantity. `source` names the field of `Angles` and of `Spread`."""

    name: str
    source: str
    unit: str
    factor: float
    """Outside units an inside unit."""
    meaning: str

    @property
    def sd_name(self) -> str:
        """Name of its standard deviation."""
        return f"{self.name}_sd"


def _deg(name: str, source: str, meaning: str) -> Quantity:
    return Quantity(name=name, source=source, unit="deg", factor=math.degrees(1.0), meaning=meaning)


QUANTITIES: Final = (
    _deg("bend_deg", "bend_rad", "lead wrist bowed (+) or cupped (-), from the straight wrist"),
    _deg("bend_change_deg", "bend_change_rad", "the same since address"),
    _deg("hinge_deg", "hinge_rad", "lead wrist toward the little finger (+) or the thumb (-), from the straight wrist"),
    _deg("hinge_change_deg", "hinge_change_rad", "the same since address"),
    _deg(
        "forearm_roll_deg",
        "roll_change_rad",
        "lead forearm about its long axis since address, + in the pronation sense",
    ),
    _deg("shaft_elevation_deg", "shaft_elevation_rad", "shaft, butt to head, to the horizontal; - with the head below"),
    _deg("shaft_pitch_deg", "shaft_pitch_rad", "shaft line in the upright plane of the address shaft; 90 upright"),
    _deg("face_twist_deg", "face_twist_rad", "club about its shaft since address, + shut, - open"),
    Quantity(
        name="butt_line_m",
        source="butt_line_m",
        unit="m",
        factor=1.0,
        meaning="where the shaft line meets the ground, from the ball line, + toward the player; a model estimate",
    ),
)


def values_of(place: Angles | Spread) -> list[float | None]:
    """All quantities, or their standard deviations, in outside units and in order; absent stays None."""
    out: list[float | None] = []
    for quantity in QUANTITIES:
        value = getattr(place, quantity.source)
        out.append(None if value is None else value * quantity.factor)
    return out


def quality_of(doubt: Doubt) -> str:
    """Give `ok`, or the name of what is in doubt."""
    return OK if doubt is Doubt.NONE else doubt.value
