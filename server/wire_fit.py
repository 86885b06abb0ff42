"""The part of the contract that is about the fit moves."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from fusion.outputs.fit import Constant, FitReason, FitState
from sensors.ids import Move
from server.wire_base import Message


class ConstantView(Message):
    """How well the fit knows one thing."""

    constant: Constant
    sd_deg: float
    """One standard deviation."""


class FitView(Message):
    """Which fit moves are in, and whether angles can be computed."""

    complete: bool
    taken: list[Move]
    known: bool = False
    """The player is remembered: strap and clip alone are new, and few moves are enough."""
    due: list[Move] = Field(default=[])
    """Moves that are still wanted, in the order in which they are best made."""
    constants: list[ConstantView] = Field(default=[])
    """How well the fit in force is known; what no move shows is missing."""
    notes: list[str] = Field(default=[])
    """What is particular about how the sensors sit, in plain sentences."""


class FitMessage(Message):
    """News of a fit move."""

    type: Literal["fit"] = "fit"
    move: Move
    state: FitState
    reason: FitReason
    measured: float | None
    limit: float | None
    advice: str
    """What to do next or differently, in a plain sentence."""
    fit: FitView
