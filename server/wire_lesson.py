"""The part of the contract that a lesson needs: who steers, and what is marked, noted and said."""

from __future__ import annotations

from typing import Annotated, Final, Literal

from pydantic import Field

from sensors.events import RepMark
from server.wire_base import Message

Holder = Literal["student", "coach"]
"""Who may change the drill, its band, the look-ahead and the fit."""

ControlReason = Literal["start", "asked", "taken_back", "coach_gone"]
"""Why it is so: nobody has asked yet, the holder handed it over or asked for it, the student took it back, the coach left."""

MAX_TEXT: Final = 2000
"""Characters of a note or a message that are read at all; `server.remarks` says how many are taken."""


class BayRef(Message):
    """Which of the practices of a service this is."""

    id: str
    """For `?bay=` in addresses: lower-case letters, digits and hyphens."""
    name: str


class ControlMessage(Message):
    """Who holds the control from now on; told to every page of the practice."""

    type: Literal["control"] = "control"
    holder: Holder
    reason: ControlReason = "start"
    by: str = ""
    """Who did it: a name, or `student` or `coach` where none is known; empty when time did."""


class RepMarkMessage(Message):
    """A rep was marked; `none` takes its mark away."""

    type: Literal["rep_mark"] = "rep_mark"
    rep: int
    mark: RepMark
    by: str = ""


class NoteMessage(Message):
    """Something was noted."""

    type: Literal["note"] = "note"
    id: int
    """Counts the notes of the practice, from 1."""
    t_s: float
    """The newest instant when it was written."""
    text: str
    rep: int | None
    """The rep that it is about; null: the practice."""
    by: str = ""


class SaidMessage(Message):
    """Something was said to the one who swings."""

    type: Literal["said"] = "said"
    id: int
    """Counts what was said in the practice, from 1: a page remembers by it what was put away."""
    t_s: float
    text: str
    by: str = ""


class ControlAskMessage(Message):
    """Coach or student takes the control (`hold`), or gives it to the other."""

    type: Literal["control"] = "control"
    hold: bool


class MarkRepMessage(Message):
    """Somebody marks a rep; `none` takes the mark away."""

    type: Literal["mark_rep"] = "mark_rep"
    rep: int = Field(ge=1, le=100_000)
    mark: Annotated[RepMark, Field(strict=False)]


class WriteNoteMessage(Message):
    """Somebody notes something, of a rep or of the practice."""

    type: Literal["note"] = "note"
    text: str = Field(max_length=MAX_TEXT)
    rep: int | None = Field(ge=1, le=100_000)


class SayMessage(Message):
    """The coach says something to the student's page."""

    type: Literal["say"] = "say"
    text: str = Field(max_length=MAX_TEXT)
