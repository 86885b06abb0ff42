"""What the API says of players, practices and reps. The unit is in the name; absent is null."""

from __future__ import annotations

from typing import Any, Self

from pydantic import Field

from fusion.outputs.instant import Phase
from fusion.outputs.rep import Verdict
from sensors.ids import Role, Side
from server.analysis.reps_file import MarkValues
from server.api.paging import Page
from server.store.records import RepKind
from server.wire_base import Message


class _FromRow(Message):
    @classmethod
    def of(cls, row: dict[str, Any], **more: Any) -> Self:
        """Take from a row of the store the columns of these names."""
        values = {**row, **more}
        return cls.model_validate({name: values[name] for name in cls.model_fields}, strict=False)


class ShareView(Message):
    """Reps in the band, of those whose angles could be trusted."""

    n_judged: int
    n_in_band: int


class PlayerView(Message):
    """One player; what was swung with the cue and without it is kept apart."""

    name: str = Field(description="empty for practices in which nobody gave a name")
    n_practices: int
    n_reps: int
    cued: ShareView
    silent: ShareView


class PlayerPage(Page):
    """Players by name."""

    items: list[PlayerView]


class Forgotten(Message):
    """What was deleted with a player, and what is left."""

    n_practices: int
    n_recordings_deleted: int
    n_recordings_left: int = Field(
        description="files that stay where they are: `pitchbend store fill` would take them in again"
    )


class PracticeView(_FromRow):
    """A practice in short."""

    key: str = Field(description="the same for a recording and its copies")
    player: str
    day: str = Field(description="calendar date, ISO 8601")
    begun_unix_s: float = Field(description="seconds since 1970")
    utc_offset_s: int
    offset_assumed: bool = Field(
        description="the recording does not say it: that of the computer that took it in, so `day` may be off"
    )
    duration_s: float
    provenance: str = Field(description="where the data is from, when not from sensors that somebody wore; else empty")
    lead_side: Side
    n_reps: int
    n_judged: int = Field(description="of which could be judged; those swung while paused are not counted")
    n_in_band: int
    drills: list[str]
    has_recording: bool


class PracticePage(Page):
    """Practices, newest first."""

    items: list[PracticeView]
    only_of: str | None = Field(
        description="the player whose practices alone are shown, with those sent from the same device; null: everybody's"
    )


class BlockView(_FromRow):
    """A block of a stint, and what became of it."""

    n_reps: int
    cue: str
    n_swung: int
    n_cued: int
    n_judged: int
    n_in_band: int


class StintView(_FromRow):
    """A drill as it was gone through, from one choice of it to the next."""

    number: int
    begun_unix_s: float
    name: str = Field(description="of the drill")
    quantity: str
    unit: str = Field(description="of low, high and the reps' worst: deg, s or ratio")
    low: float
    high: float
    phases: list[Phase] = Field(
        description="of the swing in which the band counts; empty for a drill that cannot be read"
    )
    blocks: list[BlockView]


class SensorView(_FromRow):
    """A sensor that was worn."""

    role: Role
    name: str
    profile: str


class NoteView(_FromRow):
    """What somebody wrote about a practice or a rep, or how they marked one."""

    number: int
    at_unix_s: float
    author: str
    kind: str = Field(description="`note` or `mark`")
    text: str
    rep_number: int | None
    after_takeaway_s: float | None = Field(description="the instant of the rep that it is pinned to")
    may_remove: bool = Field(description="written when the practice was over; what a recording holds stays")


class PracticeWhole(PracticeView):
    """A practice with everything but its reps."""

    program_version: str = Field(description="which worked it out")
    stints: list[StintView]
    sensors: list[SensorView]
    notes: list[NoteView]


class MarkView(MarkValues):
    """What is known as a mark of the swing is passed."""

    name: str = Field(description="shaft_level, lead_arm_level, top or impact")
    at_s: float = Field(description="on the clock of arrival")


class RepView(_FromRow):
    """A swing. Times on the clock of arrival, as in the JSON of `pitchbend analyse`."""

    number: int
    stint: int
    block: int | None
    drill: str
    kind: RepKind
    verdict: Verdict
    worst: float | None = Field(description="the drill's quantity at its worst moment, in the drill's unit")
    out_s: float = Field(description="how long it was outside the band")
    club: str | None
    takeaway_s: float
    finish_s: float | None
    backswing_s: float
    downswing_s: float | None
    tempo: float | None = Field(description="backswing_s over downswing_s")
    swing_length_arm_deg: float | None
    swing_length_shaft_deg: float | None
    quality: str = Field(description="ok, or why values are absent")
    flags: list[str]
    marks: list[MarkView] = Field(description="those that were passed, in order")


class RepPage(Page):
    """Reps, as they were asked for."""

    items: list[RepView]


class RepColumns(Page):
    """Reps in the order they were swung: columns of the same length, a place a rep, of what a list of them shows."""

    number: list[int]
    stint: list[int]
    kind: list[RepKind]
    verdict: list[Verdict]
    worst: list[float | None] = Field(description="in the unit of the stint's drill")
    backswing_s: list[float]
    tempo: list[float | None]
    quality: list[str]
    top_bend_change_deg: list[float | None]
    lead_arm_level_shaft_pitch_deg: list[float | None]


class BestRep(_FromRow):
    """A rep, and the practice it is of."""

    key: str = Field(description="of the practice")
    day: str = Field(description="calendar date of the practice, ISO 8601")
    number: int
    worst: float


class PlayersBest(Message):
    """The best rep of a player, or null where none could be judged."""

    rep: BestRep | None
