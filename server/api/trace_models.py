"""What the API says of one swing from instant to instant."""

from __future__ import annotations

from pydantic import Field

from sensors.ids import Side
from server.wire_base import Message

Column = list[float | None]
QuatView = tuple[float, float, float, float]
"""w, x, y, z."""
VecView = tuple[float, float, float]


class TraceColumns(Message):
    """Columns of the same length, a place an instant: the rows of `pitchbend analyse --series`, with poses."""

    t_s: list[float] = Field(description="0 at the takeaway")
    phase: list[str]
    quality: list[str] = Field(description="ok, or why values are absent")
    bend_deg: Column
    bend_deg_sd: Column
    bend_change_deg: Column
    bend_change_deg_sd: Column
    hinge_deg: Column
    hinge_deg_sd: Column
    hinge_change_deg: Column
    hinge_change_deg_sd: Column
    forearm_roll_deg: Column
    forearm_roll_deg_sd: Column
    shaft_elevation_deg: Column
    shaft_elevation_deg_sd: Column
    shaft_pitch_deg: Column
    shaft_pitch_deg_sd: Column
    face_twist_deg: Column
    face_twist_deg_sd: Column
    butt_line_m: Column
    butt_line_m_sd: Column
    q_earth_from_forearm: list[QuatView | None] = Field(description="w, x, y, z; axes in docs/export.md")
    q_earth_from_hand: list[QuatView | None]
    q_earth_from_club: list[QuatView | None]


class TraceMark(Message):
    """A mark of the swing."""

    name: str = Field(description="takeaway, shaft_level, lead_arm_level, top, impact or finish")
    t_s: float


class Trace(TraceColumns):
    """One swing."""

    number: int
    lead_side: Side
    arm_length_m: float = Field(description="lead shoulder to the middle of the hands")
    arm_length_assumed: bool = Field(description="nobody gave it: a common one")
    club_length_m: float
    club_length_assumed: bool
    hub_m: VecView | None = Field(
        description="where the lead shoulder is taken to be, from the ball, in the address's earth: "
        "x to the player's right, y outward over the ball, z up"
    )
    marks: list[TraceMark]


class WorkingOut(Message):
    """The practice's swings are being worked out from its recording: ask again in a moment."""

    done: float = Field(ge=0, le=1, description="how much of it is done")
