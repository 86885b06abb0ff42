"""Lengths in the reader's units: inside they are metres."""

from __future__ import annotations

import os
from collections.abc import Mapping
from enum import StrEnum
from typing import Final

M_PER_INCH: Final = 0.0254
"""Exact since the international yard and pound agreement of 1959."""
IN_INCHES: Final = ("US", "LR", "MM")
"""Where people measure in inches, by Unicode's CLDR (measurementData)."""


class Units(StrEnum):
    """What lengths are shown in; angles are degrees in either."""

    METRIC = "metric"
    IMPERIAL = "imperial"

    @property
    def mark(self) -> str:
        """What stands after a length."""
        return "cm" if self is Units.METRIC else "in"

    def shown(self, length_m: float) -> float:
        """Convert from metres."""
        return 100 * length_m if self is Units.METRIC else length_m / M_PER_INCH


def units_here(environment: Mapping[str, str] = os.environ) -> Units:
    """Give those of the environment's locale, as POSIX has it: the first of these variables that says something counts."""
    locale = next((value for name in ("LC_ALL", "LC_MEASUREMENT", "LANG") if (value := environment.get(name))), "")
    territory = locale.split(".")[0].split("@")[0].partition("_")[2]
    return Units.IMPERIAL if territory in IN_INCHES else Units.METRIC


def length_words(length_m: float, units: Units) -> str:
    """Write a length as it is measured with a tape: `94 cm`, `37.25 in`."""
    return f"{units.shown(length_m):.{1 if units is Units.METRIC else 2}f}".rstrip("0").rstrip(".") + f" {units.mark}"
