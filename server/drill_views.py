"""Drills as the wire has them: in the unit of their quantity. Pure functions."""

from __future__ import annotations

from typing import Final

from fusion.drills.course import Course
from fusion.drills.drill import Drill
from fusion.drills.parse import MARKS, QUANTITIES, SUFFIXES, DrillInvalid
from fusion.drills.quantity import Quantity, Unit, least_band
from fusion.drills.swing_log import SwingLog, Trial
from fusion.drills.write import marks_of
from fusion.outputs.instant import Angles, Doubt, Phase
from fusion.outputs.rep import Judged
from server.drills import DrillText
from server.wire import BlockView, CourseView, DrillMessage, DrillView
from server.wire_drills import (
    BlockForm,
    DrillChoice,
    DrillFormMessage,
    JudgedView,
    QuantityForm,
    TrialMark,
    TrialPoint,
    TrialSignal,
    TrialSpan,
    TriedMessage,
)

_DIGITS: Final = 3
MAX_POINTS: Final = 240
"""More would not be told apart in a drawing, and makes a message long."""


def shown(quantity: Quantity, inside: float | None) -> float | None:
    """Give a value in its unit; absent stays absent."""
    return None if inside is None else round(quantity.unit.shown(inside), _DIGITS)


def _shown(quantity: Quantity, inside: float) -> float:
    return round(quantity.unit.shown(inside), _DIGITS)


def drill_view(drill: Drill) -> DrillView:
    """Show the drill and its band."""
    low, high = _shown(drill.quantity, drill.low), _shown(drill.quantity, drill.high)
    in_degrees = drill.quantity.unit is Unit.DEG
    return DrillView(
        name=drill.name,
        feel=drill.feel,
        quantity=drill.quantity,
        phases=list(drill.phases),
        low_deg=low if in_degrees else None,
        high_deg=high if in_degrees else None,
        unit=drill.quantity.unit,
        low=low,
        high=high,
        least_band=least_band(drill.quantity),
        warn=shown(drill.quantity, drill.warn),
        aim=drill.aim,
    )


def drill_message(
    drill: Drill, course: Course, lead_s: float, *, paused: bool = False, second: Drill | None = None
) -> DrillMessage:
    """Tell which drill is in force, where the player stands in it, how much early its cue begins, and whether it rests."""
    return DrillMessage(
        drill=drill_view(drill),
        course=course_view(course),
        second=drill_view(second) if second is not None else None,
        look_ahead_ms=round(1e3 * lead_s),
        paused=paused,
    )


def course_view(course: Course) -> CourseView | None:
    """Show the blocks; None when there are none."""
    if not course.tallies:
        return None
    return CourseView(
        blocks=[
            BlockView(
                reps=tally.block.n_reps,
                cue=tally.block.cue,
                swung=tally.n_swung,
                judged=tally.n_judged,
                in_band=tally.n_in_band,
            )
            for tally in course.tallies
        ],
        block=course.index,
        cued=course.cued,
        testing=course.testing,
    )


def drill_choice(one: DrillText) -> DrillChoice:
    """Offer a drill."""
    return DrillChoice(id=one.id, name=one.drill.name, aim=one.drill.aim, own=one.own)


def judged_view(judged: Judged) -> JudgedView:
    """Tell how a rep stood to the second drill."""
    return JudgedView(
        drill=judged.drill,
        quantity=judged.quantity,
        unit=judged.quantity.unit,
        verdict=judged.verdict,
        worst=shown(judged.quantity, judged.worst),
    )


def form_message(drill_id: str, drill: Drill) -> DrillFormMessage:
    """Give a drill key by key."""
    marks = marks_of(drill)
    return DrillFormMessage(
        id=drill_id,
        name=drill.name,
        aim=drill.aim,
        feel=drill.feel,
        quantity=drill.quantity,
        from_mark=marks[0] if marks is not None else None,
        to_mark=marks[1] if marks is not None else None,
        low=_shown(drill.quantity, drill.low),
        high=_shown(drill.quantity, drill.high),
        hysteresis=None if drill.quantity.at_end else _shown(drill.quantity, drill.hysteresis),
        warn=shown(drill.quantity, drill.warn),
        blocks=[BlockForm(reps=block.n_reps, cue=block.cue) for block in drill.blocks],
        quantities=[_quantity_form(name, origin, quantity) for (name, origin), quantity in QUANTITIES.items()],
        marks=list(MARKS),
    )


def _quantity_form(name: str, origin: str | None, quantity: Quantity) -> QuantityForm:
    return QuantityForm(
        quantity=quantity,
        name=name,
        counted_from=origin,
        unit=quantity.unit,
        suffix=SUFFIXES[quantity.unit],
        at_end=quantity.at_end,
        least_band=round(least_band(quantity), _DIGITS),
    )


def refused_message(error: DrillInvalid) -> TriedMessage:
    """Tell what is wrong with a drill, and where."""
    return TriedMessage(problem=error.problem, key=".".join(str(part) for part in error.key), line=error.line)


def tried_message(drill: Drill, log: SwingLog | None, trial: Trial | None) -> TriedMessage:
    """Tell what a sound drill would have made of the last rep, if there is one."""
    if log is None or trial is None:
        return TriedMessage()
    quantity, zero_s = drill.quantity, log.told[0][0]
    instants = [(told[0], told[1], told[2], told[3]) for told in log.told if len(told) == 4]
    return TriedMessage(
        verdict=trial.verdict,
        worst=shown(quantity, trial.worst),
        spans=[
            TrialSpan(from_s=_s(a - zero_s), to_s=_s(b - zero_s), error=_shown(quantity, error))
            for a, b, error in trial.spans
        ],
        signals=[TrialSignal(t_s=_s(t_s - zero_s), kind=kind) for t_s, kind in trial.shorts],
        points=[] if quantity.at_end else _points(quantity, instants, zero_s),
        marks=_marks(instants, zero_s),
    )


def _s(t_s: float) -> float:
    return round(t_s, 4)


def _points(quantity: Quantity, instants: list[tuple[float, Phase, Angles, Doubt]], zero_s: float) -> list[TrialPoint]:
    every = -(-len(instants) // MAX_POINTS)
    return [
        TrialPoint(t_s=_s(t_s - zero_s), value=shown(quantity, quantity.of(angles)) if doubt is Doubt.NONE else None)
        for t_s, _, angles, doubt in instants[::every]
    ]


def _marks(instants: list[tuple[float, Phase, Angles, Doubt]], zero_s: float) -> list[TrialMark]:
    marks: list[TrialMark] = []
    for t_s, phase, _, _ in instants:
        if not marks or marks[-1].phase is not phase:
            marks.append(TrialMark(t_s=_s(t_s - zero_s), phase=phase))
    return marks
