"""What a mark's own date does to the values read there: an angle on its way is read a little early or late.

An instant knows its angles as well as `spread.py` says. A mark is that instant at which arm or shaft seems to lie level, or the
club to be back at the ball; where the forearm's axis is a degree wrong, it is another one.
"""

from __future__ import annotations

import math
from typing import Final

from fusion.outputs.instant import Angles, Phase, Spread

IMPACT_SD_S: Final = 0.002
"""Scatter of impact's date on the independent model (docs/accuracy.md)."""
MOST_S: Final = 0.03
"""No date is off by more: a mark is also looked for near where it was passed live."""

_BY_DEFINITION: Final = {(Phase.SHAFT_LEVEL, name) for name in ("shaft_elevation_rad", "shaft_pitch_rad")}
"""A level shaft's elevation is 0 and its pitch 0 or 180 degrees, whenever that is."""


def date_sd_s(phase: Phase, spread: Spread, arm_sd_rad: float, rates: Angles) -> float:
    """Standard deviation of a mark's date, from how well that is known by which it is dated, and how fast it passes."""
    match phase:
        case Phase.ARM_LEVEL:
            return _sd_s(arm_sd_rad, rates.arm_elevation_rad)
        case Phase.SHAFT_LEVEL:
            return _sd_s(spread.shaft_elevation_rad, rates.shaft_elevation_rad)
        case Phase.IMPACT:
            return IMPACT_SD_S
        case _:
            return 0.0


def with_date(phase: Phase, spread: Spread, arm_sd_rad: float, rates: Angles) -> Spread:
    """One standard deviation of each quantity as read at a mark. `rates` are radians (the butt line metres) a second."""
    sd_s = date_sd_s(phase, spread, arm_sd_rad, rates)
    wider = {
        name: math.hypot(sd, sd_s * rate)
        for name, sd in spread._asdict().items()
        if sd is not None and (phase, name) not in _BY_DEFINITION and (rate := getattr(rates, name)) is not None
    }
    return spread._replace(**wider)


def _sd_s(sd_rad: float | None, rate_rad_s: float | None) -> float:
    if sd_rad is None or not rate_rad_s:
        return 0.0
    return min(sd_rad / abs(rate_rad_s), MOST_S)
