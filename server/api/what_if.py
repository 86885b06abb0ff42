"""`/api/practices/{key}/reps/{number}/what-if`: one instant of a swing with another bend or forearm roll."""

from __future__ import annotations

import math
from typing import Any

from fastapi import APIRouter, Depends
from pydantic import Field

from fusion.calibration.fit import BodyFit
from fusion.club_state import ClubState, Seen, what_if
from fusion.outputs.instant import Pose
from fusion.pose import worn_along
from fusion.rotation import mul
from server.analysis.series_file import POSED, pose_columns
from server.api.asked import Key, Number, TheArchive, from_here
from server.api.errors import ApiProblem, ProblemCode
from server.api.trace import TAKES_A_WHILE, later, rep_row, swing
from server.api.trace_models import QuatView, WorkingOut
from server.store.swings import SwingRows
from server.wire_base import Message

router = APIRouter(tags=["reps"], dependencies=[Depends(from_here)])


class Wondered(Message):
    """What is to be otherwise; all else is held: the arm's direction, the hinge, the grip."""

    t_s: float = Field(ge=-60, le=60, description="0 at the takeaway, as in the trace; the nearest instant counts")
    bend_by_deg: float = Field(default=0.0, ge=-90, le=90, description="+ bowed further, - cupped further")
    roll_by_deg: float = Field(default=0.0, ge=-180, le=180, description="forearm, + in the pronation sense")


class ClubSeen(Message):
    """What a coach would see of the club; null where it cannot be said."""

    shaft_pitch_deg: float | None
    shaft_elevation_deg: float | None
    butt_line_m: float | None
    face_twist_deg: float | None = Field(description="since address, + shut, - open")


class PosesView(Message):
    """Where the segments would lie; w, x, y, z, as in the trace."""

    q_earth_from_forearm: QuatView
    q_earth_from_hand: QuatView
    q_earth_from_club: QuatView


class WhatIf(Message):
    """The instant as it was, and as it would have been."""

    t_s: float = Field(description="of the instant, exactly as in the trace")
    unchanged: ClubSeen
    changed: ClubSeen
    poses: PosesView = Field(description="changed")


@router.post("/practices/{key}/reps/{number}/what-if", response_model=WhatIf, responses=TAKES_A_WHILE)
def wonder(archive: TheArchive, key: Key, number: Number, wondered: Wondered) -> Any:
    """Say what the club would do with another bend or roll at an instant. Changes nothing, so that viewers may ask, too."""
    rep = rep_row(archive, key, number)
    found = swing(archive, key, rep)
    if isinstance(found, WorkingOut):
        return later(found)
    return answer(found, rep["takeaway_s"], wondered)


def answer(found: SwingRows, takeaway_s: float, wondered: Wondered) -> WhatIf:
    """Work it out. Raises `ApiProblem` where no pose is known."""
    times_s = [at_s - takeaway_s for at_s in found.columns["host_time_s"]]
    at = min(range(len(times_s)), key=lambda i: abs(times_s[i] - wondered.t_s))
    quats = [tuple(found.columns[name][at] for name in pose_columns(segment)) for segment in POSED]
    if None in quats[0]:
        said = "At this instant nothing is known of how arm and club lay, so nothing can be changed. Choose another."
        raise ApiProblem(409, ProblemCode.NO_POSE, said)
    pose = Pose(q_earth_from_forearm=quats[0], q_earth_from_hand=quats[1], q_earth_from_club=quats[2])
    state, fit = worn_along(pose, found.place.side)
    trusted = {name: found.columns[name][at] for name in ClubSeen.model_fields}
    by = {"bend_rad": math.radians(wondered.bend_by_deg), "roll_rad": math.radians(wondered.roll_by_deg)}
    return WhatIf(
        t_s=times_s[at],
        unchanged=_seen(what_if(state, fit, found.place.butt), trusted),
        changed=_seen(what_if(state, fit, found.place.butt, **by), trusted),
        poses=_poses(state.with_wrist(fit, **by), fit),
    )


def _seen(then: Seen, trusted: dict[str, float | None]) -> ClubSeen:
    """Give the library's own figures, in degrees; what the trace does not trust at this instant stays absent."""
    twist_deg = trusted["face_twist_deg"]
    figures = {
        "shaft_pitch_deg": None if then.shaft_pitch_rad is None else math.degrees(then.shaft_pitch_rad),
        "shaft_elevation_deg": math.degrees(then.shaft_elevation_rad),
        "butt_line_m": then.butt_line_m,
        "face_twist_deg": None if twist_deg is None else twist_deg + math.degrees(then.face_turn_rad),
    }
    return ClubSeen(**{name: None if trusted[name] is None else value for name, value in figures.items()})


def _poses(then: ClubState, fit: BodyFit) -> PosesView:
    return PosesView(
        q_earth_from_forearm=then.q_earth_from_forearm,
        q_earth_from_hand=mul(then.q_earth_from_club, fit.q_sensor_from_hand),
        q_earth_from_club=then.q_earth_from_club,
    )
