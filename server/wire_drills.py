"""The part of the contract about writing and trying drills, and about short sounds."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from fusion.drills.course import CueShare
from fusion.drills.quantity import Quantity, Unit
from fusion.outputs.cue import SignalKind
from fusion.outputs.instant import Phase
from fusion.outputs.rep import Verdict
from server.wire_base import Message


class SignalMessage(Message):
    """A short sound, once; never skipped."""

    type: Literal["signal"] = "signal"
    t_s: float
    kind: SignalKind


class JudgedView(Message):
    """How a rep stood to a drill that is watched beside the one in force."""

    drill: str
    quantity: Quantity
    unit: Unit
    verdict: Verdict
    worst: float | None
    """In `unit`."""


class DrillChoice(Message):
    """A drill that can be chosen."""

    id: str
    name: str
    aim: str
    own: bool = False
    """From the folder of one's own."""


class DrillsMessage(Message):
    """There is another drill to choose from."""

    type: Literal["drills"] = "drills"
    drills: list[DrillChoice]
    saved: str = ""
    """The id of the one that has just been kept."""


class BlockForm(Message):
    """A block as a drill's file has it."""

    reps: int
    cue: CueShare


class QuantityForm(Message):
    """A quantity as a drill's file names it, and what a drill on it may say."""

    quantity: Quantity
    name: str
    counted_from: str | None
    """Null: leave it out."""
    unit: Unit
    suffix: str
    """How the keys of the band end: `low_deg`, `low_s`, `low`."""
    at_end: bool
    """Of the whole swing: leave out `from`, `to`, hysteresis and warning."""
    least_band: float
    """Narrowest band, in `unit`: twice the error."""


class DrillFormMessage(Message):
    """A drill key by key, as its file has it, for editing. Answers `edit_drill`."""

    type: Literal["drill_form"] = "drill_form"
    id: str
    """Empty for the one in force."""
    name: str
    aim: str
    feel: str
    quantity: Quantity
    from_mark: str | None
    """The file's `from`, and `to`; null where they are left out."""
    to_mark: str | None
    low: float
    high: float
    hysteresis: float | None
    warn: float | None
    blocks: list[BlockForm]
    quantities: list[QuantityForm]
    """What there is to choose from."""
    marks: list[str]
    """What `from` and `to` may be, in order."""


class TrialPoint(Message):
    """The quantity at an instant of the last rep."""

    t_s: float
    """Since its takeaway."""
    value: float | None
    """In the drill's unit."""


class TrialSpan(Message):
    """A stretch in which the cue would have sounded."""

    from_s: float
    to_s: float
    error: float
    """With which it would have begun."""


class TrialSignal(Message):
    """A short sound that would have been given."""

    t_s: float
    kind: SignalKind


class TrialMark(Message):
    """Where a phase of the last rep began."""

    t_s: float
    phase: Phase


class TriedMessage(Message):
    """What a drill, tried on the last rep, would have made of it. Answers `try_drill`."""

    type: Literal["tried"] = "tried"
    problem: str = ""
    """What is wrong with the drill, in a sentence; empty when nothing is."""
    key: str = ""
    """Which key of the drill it is about, such as `low_deg` or `blocks.1.reps`; empty when none."""
    line: int | None = None
    verdict: Verdict | None = None
    """Null for a drill with a problem, and while there is no rep to try it on."""
    worst: float | None = None
    spans: list[TrialSpan] = Field(default=[])
    signals: list[TrialSignal] = Field(default=[])
    points: list[TrialPoint] = Field(default=[])
    """The quantity from takeaway to the end of the swing, thinned; empty for one of the whole swing."""
    marks: list[TrialMark] = Field(default=[])
