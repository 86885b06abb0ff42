"""The part of the contract that is about a recording being played: what a page may ask of it, and how it stands."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from fusion.outputs.rep import Verdict
from sensors.events import RepMark
from server.wire_base import Message

MAX_S = 1e6
"""Longer than any recording, in seconds."""
SLOWEST, FASTEST = 0.25, 8.0


class ReplayView(Message):
    """How a recording is being played. All times count from its first event, as `t_s` does everywhere."""

    playing: bool
    speed: float
    """1 is as it was; 0: as fast as can be."""
    at_s: float
    seeking: bool = False
    """On its way to where somebody wanted it."""
    loop: int | None = None
    """The rep that is played over and over."""


class ReplayMessage(Message):
    """How the playing of the recording stands: at each change, and twice a second while it plays."""

    type: Literal["replay"] = "replay"
    replay: ReplayView


class TimelineRep(Message):
    """A rep on the timeline, as the recording has it."""

    index: int
    from_s: float
    """Where one begins to look at it: shortly before the takeaway."""
    takeaway_s: float
    top_s: float
    to_s: float
    """By then it is over and judged."""
    verdict: Verdict
    cued: bool


class TimelineRemark(Message):
    """A mark, a note or a message to the player, where it was made."""

    kind: Literal["mark", "note", "said"]
    t_s: float
    text: str
    """Empty for a mark."""
    mark: RepMark = RepMark.NONE
    rep: int | None = None
    by: str = ""


class ReplayTimelineMessage(Message):
    """What is in the recording and where: after the hello, and anew as the first reading gets on."""

    type: Literal["replay_timeline"] = "replay_timeline"
    reps: list[TimelineRep]
    remarks: list[TimelineRemark]
    known_s: float
    """Read through up to here."""
    progress: float
    """Share of the file that has been read through, 0 to 1."""
    duration_s: float | None
    """Null until it has been read through."""
    trouble: str = ""
    """Why it cannot be read through, in a plain sentence."""


class ReplayPlayMessage(Message):
    """Play on, or stop (`playing` false) and stay where it is. At the end: from the beginning."""

    type: Literal["replay_play"] = "replay_play"
    playing: bool


class ReplaySpeedMessage(Message):
    """Play at this speed from now on; 0: as fast as can be."""

    type: Literal["replay_speed"] = "replay_speed"
    speed: Annotated[float, Field(ge=0, le=FASTEST)]


class ReplaySeekMessage(Message):
    """Go to this time."""

    type: Literal["replay_seek"] = "replay_seek"
    to_s: Annotated[float, Field(ge=0, le=MAX_S)]


class ReplaySkipMessage(Message):
    """Go so much further, or back, and stop there."""

    type: Literal["replay_skip"] = "replay_skip"
    by_s: Annotated[float, Field(ge=-MAX_S, le=MAX_S)]


class ReplayStepMessage(Message):
    """Go so many packets further, or back, and stop there; those that bring no new frame do not count."""

    type: Literal["replay_step"] = "replay_step"
    packets: Annotated[int, Field(ge=-20, le=20)]


class ReplayRepMessage(Message):
    """Go to the beginning of the next rep, or of this one or the one before."""

    type: Literal["replay_rep"] = "replay_rep"
    to: Literal["next", "previous"]


class ReplayLoopMessage(Message):
    """Play one rep over and over; null: go on after it."""

    type: Literal["replay_loop"] = "replay_loop"
    rep: Annotated[int, Field(ge=1, le=100_000)] | None


ReplayAsk = (
    ReplayPlayMessage
    | ReplaySpeedMessage
    | ReplaySeekMessage
    | ReplaySkipMessage
    | ReplayStepMessage
    | ReplayRepMessage
    | ReplayLoopMessage
)
"""All that is asked of a recording that plays."""
