"""The contract of `/ws/board`: every practice of a service in short, for whoever looks after several."""

from __future__ import annotations

from typing import Literal

from fusion.outputs.instant import Phase
from fusion.outputs.rep import Verdict
from sensors.events import RepMark
from server.wire import PlayerView
from server.wire_base import Message
from server.wire_lesson import Holder

BayStatus = Literal["waiting", "live", "stale", "ended", "away"]
"""Nothing has come yet; it comes; nothing for over a second; the practice is over; its computer does not answer."""


class BoardCourse(Message):
    """Where a player stands in the blocks of a drill."""

    block: int | None
    """Which one is under way, from 0; null when all are done."""
    n_blocks: int
    rep: int
    """Reps swung in it."""
    reps: int
    """Reps that it has; 0 when all blocks are done."""
    testing: bool


class BoardRep(Message):
    """The last rep of a player."""

    index: int
    verdict: Verdict
    worst_deg: float | None
    mark: RepMark


class BoardBay(Message):
    """One practice."""

    id: str
    name: str
    player: PlayerView | None
    status: BayStatus
    phase: Phase | None
    """This and the three below are null, and `sounding` false, unless `status` is `live`."""
    bend_change_deg: float | None
    shaft_pitch_deg: float | None
    sounding: bool
    drill: str
    """Its name."""
    course: BoardCourse | None
    """Null for a drill without blocks."""
    n_reps: int
    n_judged: int
    n_in_band: int
    """Of the judged."""
    last_rep: BoardRep | None
    control: Holder
    problem: str | None
    """The most urgent one, as a sentence."""


class BoardMessage(Message):
    """All practices, at most five times a second and only when something has changed; newest wins."""

    type: Literal["board"] = "board"
    bays: list[BoardBay]
