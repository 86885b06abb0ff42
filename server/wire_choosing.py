"""The part of the contract that is about which sensor is worn where."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from sensors.events import LinkReason, LinkState
from sensors.ids import Role
from server.wire_base import Message


class CandidateView(Message):
    """A sensor in reach, while places are being given out."""

    sensor: str
    name: str
    role: Role
    """Where it is worn; `spare` for nowhere."""
    state: LinkState
    reason: LinkReason
    advice: str
    activity: float
    """How fast it is being turned, 0 to 1, for a bar."""
    moving: bool
    """This one, and no other, is being moved."""
    battery_pct: int | None


class ChoosingView(Message):
    """A person gives out the places, or does not (`open`)."""

    open: bool
    wanted: Role | None
    """The place of the pair to be given next; null when both are given."""
    instruction: str
    """What to do now, in a plain sentence."""
    trouble: LinkReason
    """Why sensors cannot be looked for, if so."""
    complete: bool
    """Both places of the pair are given: the practice can begin."""
    places: list[Role]
    """Every place that a sensor can be given."""
    sensors: list[CandidateView]
    waiting: bool = False
    """Another bay gives out its places first; `choose` with `open` once more goes before it."""
    elsewhere: list[str] = Field(default=[])
    """Sensors that other bays wear, and so cannot be given out here: a plain sentence each."""


class ChoosingMessage(Message):
    """Which sensors are in reach and which one moves, about ten times a second while places are being given out."""

    type: Literal["choosing"] = "choosing"
    choosing: ChoosingView
