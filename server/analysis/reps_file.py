"""The reps as JSON, one object a rep; `shared/reps.schema.json` is made from these classes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import orjson
from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

from fusion.outputs.instant import Doubt, Phase
from fusion.outputs.rep import Checkpoint, Rep
from sensors.events import RepMark
from sensors.record.summary import Remark
from server.analysis.host_clock import HostClock
from server.analysis.quantities import QUANTITIES, quality_of, values_of
from server.analysis.remarks import marks_of, notes_of

_STRICT = ConfigDict(strict=True, frozen=True, extra="forbid")
_MARKS: Final = {
    "shaft_level": Phase.SHAFT_LEVEL,
    "lead_arm_level": Phase.ARM_LEVEL,
    "top": Phase.TOP,
    "impact": Phase.IMPACT,
}


class MarkValues(BaseModel):
    """What is known as a mark is passed: the quantities of the series, each with its standard deviation."""

    model_config = _STRICT

    bend_deg: float | None
    bend_deg_sd: float | None
    bend_change_deg: float | None
    bend_change_deg_sd: float | None
    hinge_deg: float | None
    hinge_deg_sd: float | None
    hinge_change_deg: float | None
    hinge_change_deg_sd: float | None
    forearm_roll_deg: float | None
    forearm_roll_deg_sd: float | None
    shaft_elevation_deg: float | None
    shaft_elevation_deg_sd: float | None
    shaft_pitch_deg: float | None
    shaft_pitch_deg_sd: float | None
    face_twist_deg: float | None
    face_twist_deg_sd: float | None
    butt_line_m: float | None
    butt_line_m_sd: float | None
    pitch_per_bend: float | None = Field(description="change of shaft pitch for a change of bend, all else held")
    pitch_per_roll: float | None = Field(
        description="change of shaft pitch for a change of forearm roll, all else held"
    )
    toe_deg: float | None = Field(description="face at a level shaft: 0 with the toe up, + shut, - open")


class Values(BaseModel):
    """The marks at which values are kept; null for one that was not passed."""

    model_config = _STRICT

    shaft_level: MarkValues | None
    lead_arm_level: MarkValues | None
    top: MarkValues | None
    impact: MarkValues | None


class RepRecord(BaseModel):
    """One swing. Times in seconds on the clock of arrival; null for a mark that was not passed."""

    model_config = _STRICT

    index: int = Field(ge=1)
    takeaway_s: float
    shaft_level_s: float | None
    lead_arm_level_s: float | None
    top_s: float | None
    impact_s: float | None
    finish_s: float | None
    backswing_s: float
    downswing_s: float | None
    tempo: float | None = Field(description="backswing_s over downswing_s")
    swing_length_arm_deg: float | None = Field(description="lead forearm from address to top")
    swing_length_shaft_deg: float | None = Field(description="shaft at the top, past level (+) or short of it (-)")
    values: Values
    flags: list[str] = Field(description="what is particular about the rep, and its doubt if there is one")
    quality: str = Field(description="ok, or why values are absent")
    mark: str | None = Field(description="good or look, by somebody who watched; null without")
    notes: list[str] = Field(description="what was noted of it, oldest first")


REPS: Final = TypeAdapter(list[RepRecord])


def rep_records(reps: Sequence[Rep], clock: HostClock, remarks: Sequence[Remark]) -> list[RepRecord]:
    """Give reps their outside form, with what was marked and noted of them."""
    marks = marks_of(remarks)
    return [rep_record(rep, clock, mark=marks.get(rep.index), notes=notes_of(remarks, rep.index)) for rep in reps]


def rep_record(rep: Rep, clock: HostClock, *, mark: RepMark | None = None, notes: Sequence[str] = ()) -> RepRecord:
    """Give a rep its outside form."""
    marks = {name: rep.checkpoints.get(phase) for name, phase in _MARKS.items()}
    times_s = {name: None if mark is None else clock.host_s(mark.t_s) for name, mark in marks.items()}
    doubts = [] if rep.doubt is Doubt.NONE else [rep.doubt.value]
    return RepRecord(
        index=rep.index,
        takeaway_s=clock.host_s(rep.takeaway_s),
        shaft_level_s=times_s["shaft_level"],
        lead_arm_level_s=times_s["lead_arm_level"],
        top_s=times_s["top"],
        impact_s=times_s["impact"],
        finish_s=clock.host_s_or_none(rep.finish_s),
        backswing_s=rep.backswing_s,
        downswing_s=rep.downswing_s,
        tempo=rep.tempo,
        swing_length_arm_deg=_degrees(rep.arm_length_rad),
        swing_length_shaft_deg=_degrees(rep.shaft_length_rad),
        values=Values(**{name: _mark_values(mark) for name, mark in marks.items()}),
        flags=[*(flag.value for flag in rep.flags), *doubts],
        quality=quality_of(rep.doubt),
        mark=None if mark is None else mark.value,
        notes=list(notes),
    )


def reps_json(records: list[RepRecord]) -> bytes:
    """The file's content."""
    return orjson.dumps([record.model_dump() for record in records], option=orjson.OPT_INDENT_2) + b"\n"


def _mark_values(mark: Checkpoint | None) -> MarkValues | None:
    if mark is None:
        return None
    values: dict[str, float | None] = {}
    pairs = zip(QUANTITIES, values_of(mark.angles), values_of(mark.spread), strict=True)
    for quantity, value, spread in pairs:
        values[quantity.name], values[quantity.sd_name] = value, spread
    return MarkValues(
        **values,
        pitch_per_bend=mark.pitch_per_bend,
        pitch_per_roll=mark.pitch_per_roll,
        toe_deg=_degrees(mark.toe_rad),
    )


def _degrees(angle_rad: float | None) -> float | None:
    return None if angle_rad is None else math.degrees(angle_rad)
