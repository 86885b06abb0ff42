"""How a practice stands, in short, for whoever looks after several: folded from what its clients are told. Pure functions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from fusion.outputs.instant import Phase
from sensors.events import LinkReason, LinkState, RepMark
from server.present import RepTally
from server.wire import (
    CourseView,
    CueMessage,
    DrillMessage,
    EndMessage,
    FrameMessage,
    HelloMessage,
    PhaseMessage,
    PlayerView,
    ProblemMessage,
    RepMessage,
    SensorsMessage,
    SensorView,
    ServerMessage,
)
from server.wire_board import BayStatus, BoardBay, BoardCourse, BoardRep
from server.wire_lesson import ControlMessage, Holder, RepMarkMessage

STALE_AFTER_S: Final = 1.0

_SENSORS: Final = "sensors"
_URGENCY: Final = (
    "source_failed", "recording_stopped", "recording_gap", _SENSORS, "sensor:", "turned:",
    "recording_behind", "recording_space", "battery:", "clock_jump",
)  # fmt: skip
"""Beginnings of codes, most urgent first: what ends the practice, what loses it, what blinds it, what may yet do so."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Folded:
    """What is known of a practice."""

    player: PlayerView | None = None
    drill: str = ""
    course: BoardCourse | None = None
    frame: FrameMessage | None = None
    frame_s: float = 0.0
    """When it came."""
    phase: Phase | None = None
    sounding: bool = False
    ended: bool = False
    tally: RepTally = field(default_factory=RepTally)
    last_rep: BoardRep | None = None
    control: Holder = "student"
    problems: Mapping[str, str] = field(default_factory=dict)
    """Sentences by code; what the sensors' list says stands under a code of its own."""


def fold(state: Folded, message: ServerMessage, now_s: float) -> Folded:  # noqa: C901, PLR0911  # a table: one case a message
    """Take in what all clients are being told."""
    match message:
        case FrameMessage():
            return replace(
                state, frame=message, frame_s=now_s, phase=message.phase, sounding=message.sounding, ended=False
            )
        case CueMessage():
            return replace(state, sounding=message.sounding)
        case PhaseMessage():
            return replace(state, phase=message.phase)
        case RepMessage():
            return replace(
                state,
                tally=state.tally.with_rep(message.verdict),
                last_rep=BoardRep(
                    index=message.index, verdict=message.verdict, worst_deg=message.worst_deg, mark=RepMark.NONE
                ),
            )
        case RepMarkMessage() if state.last_rep is not None and state.last_rep.index == message.rep:
            return replace(state, last_rep=state.last_rep.model_copy(update={"mark": message.mark}))
        case DrillMessage():
            return replace(state, drill=message.drill.name, course=_course(message.course))
        case ControlMessage():
            return replace(state, control=message.holder)
        case SensorsMessage():
            return replace(state, problems=_with_sensors(state.problems, message.sensors))
        case ProblemMessage():
            return replace(state, problems={**state.problems, message.code: message.text})
        case HelloMessage():  # the problems that stand follow it
            return replace(
                state,
                player=message.player,
                drill=message.drill.name,
                course=_course(message.course),
                control=message.control,
                problems=_with_sensors({}, message.sensors),
            )
        case EndMessage():
            return _ended(state, again=message.again)
        case _:
            return state


def shown(state: Folded, *, id: str, name: str, now_s: float) -> BoardBay:  # noqa: A002  # as the board has it
    """Show it as it is at `now_s`, on the clock that the frames were folded by."""
    frame = state.frame
    status: BayStatus = "waiting"
    if state.ended:
        status = "ended"
    elif frame is not None:
        status = "live" if now_s - state.frame_s <= STALE_AFTER_S else "stale"
    live = frame if status == "live" else None
    return BoardBay(
        id=id,
        name=name,
        player=state.player,
        status=status,
        phase=state.phase if live else None,
        bend_change_deg=live.bend_change_deg if live else None,
        shaft_pitch_deg=live.shaft_pitch_deg if live else None,
        sounding=state.sounding and live is not None,
        drill=state.drill,
        course=state.course,
        n_reps=state.tally.n_reps,
        n_judged=state.tally.n_judged,
        n_in_band=state.tally.n_in_band,
        last_rep=state.last_rep,
        control=state.control,
        problem=_most_urgent(state.problems),
    )


def _ended(state: Folded, *, again: bool) -> Folded:
    over = replace(state, frame=None, phase=None, sounding=False, ended=not again)
    return replace(over, tally=RepTally(), last_rep=None) if again else over


def _course(course: CourseView | None) -> BoardCourse | None:
    if course is None:
        return None
    block = None if course.block is None else course.blocks[course.block]
    return BoardCourse(
        block=course.block,
        n_blocks=len(course.blocks),
        rep=block.swung if block else 0,
        reps=block.reps if block else 0,
        testing=course.testing,
    )


def _with_sensors(problems: Mapping[str, str], sensors: list[SensorView]) -> dict[str, str]:
    advice = next((one.advice for one in sensors if one.advice and _is_lost(one)), "")
    others = {code: text for code, text in problems.items() if code != _SENSORS}
    return {**others, _SENSORS: advice} if advice else others


def _is_lost(sensor: SensorView) -> bool:
    return sensor.state is not LinkState.STREAMING or sensor.reason is not LinkReason.NONE


def _most_urgent(problems: Mapping[str, str]) -> str | None:
    def urgency(code: str) -> int:
        return next((i for i, beginning in enumerate(_URGENCY) if code.startswith(beginning)), len(_URGENCY))

    first = min(problems, key=urgency, default=None)
    return None if first is None else problems[first]
