"""How full a sensor's battery is, as a state that does not flicker when the level wavers about a limit."""

from __future__ import annotations

from enum import StrEnum
from typing import Final


class BatteryState(StrEnum):
    """What a person has to know of a battery."""

    UNKNOWN = "unknown"
    GOOD = "good"
    LOW = "low"
    """Enough for now; to be charged after this practice."""
    NEARLY_EMPTY = "nearly_empty"
    """It may stop at any moment."""


LOW_PCT: Final = 20
NEARLY_EMPTY_PCT: Final = 5
"""Both limits: common practice, no source."""
_MARGIN_PCT: Final = 3
"""A level that wavers by less than this about a limit does not change the state back. A battery that is charged does."""


def battery_state(level_pct: int, *, before: BatteryState = BatteryState.UNKNOWN) -> BatteryState:
    """Give the state for a level, after the state `before`."""
    if level_pct <= NEARLY_EMPTY_PCT + _MARGIN_PCT * (before is BatteryState.NEARLY_EMPTY):
        return BatteryState.NEARLY_EMPTY
    if level_pct <= LOW_PCT + _MARGIN_PCT * (before in (BatteryState.LOW, BatteryState.NEARLY_EMPTY)):
        return BatteryState.LOW
    return BatteryState.GOOD
