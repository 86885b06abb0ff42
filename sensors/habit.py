"""What stays of a player from practice to practice: how the club lies in the hand, how skin lags, the wrist at address.

Strap and clip are put on anew each time, so nothing of how a sensor sits is among it.
"""

from __future__ import annotations

from dataclasses import dataclass, fields


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A figure and its standard deviation."""

    value: float
    sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Habit:
    """Angles in radians, signs as in `docs/conventions.md`, the same for both arms."""

    lean_rad: Known
    """Shaft out of the hand's plane, toward the palm."""
    toward_thumb_rad: Known
    """Shaft against the straight hand's direction."""
    skin_lag: Known
    """Share of a roll by which skin stays behind bone."""
    address_bend_rad: Known
    address_hinge_rad: Known


NAMES = tuple(field.name for field in fields(Habit))
