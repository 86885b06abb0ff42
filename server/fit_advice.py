"""What to tell the golfer during the fit moves: what to do, what went wrong, what comes next."""

from __future__ import annotations

from typing import Final, assert_never

from fusion.calibration.collect import HELD
from fusion.calibration.session import FitStatus
from fusion.outputs.fit import FitProgress, FitReason, FitState
from sensors.ids import Move
from server.moves import moves

_UNITS: Final = {
    FitReason.MOVING: "°/s", FitReason.NOT_GRAVITY: " m/s²", FitReason.TOO_LITTLE: "°",
    FitReason.NOT_ONE_AXIS: "°", FitReason.SWAPPED: "°",
    FitReason.DISAGREES: " times the usual spread", FitReason.END_UNKNOWN: " standard deviations",
    FitReason.FEW_ATTITUDES: "", FitReason.POOR_TRIM: " % of g",
}  # fmt: skip


def fit_advice(progress: FitProgress, status: FitStatus) -> str:
    """Say in a plain sentence or two what to do next or differently."""
    match progress.state:
        case FitState.COLLECTING:
            return hold_advice(progress.move)
        case FitState.TAKEN if progress.reason is FitReason.UNLIKE_BEFORE:
            return UNLIKE_BEFORE + " " + next_advice(status)
        case FitState.TAKEN:
            return "Taken. " + next_advice(status)
        case FitState.REJECTED:
            return rejected_advice(progress.move, progress.reason, progress.measured, progress.limit)
        case _:
            assert_never(progress.state)


def move_instruction(move: Move) -> str:
    """Say how to make a move."""
    return moves()[move].how


def hold_advice(move: Move) -> str:
    """Say what to do while a move is being taken."""
    if move in HELD:
        return move_instruction(move) + " Stay still for a second or two."
    return move_instruction(move) + " Then be still."


def next_advice(status: FitStatus) -> str:
    """Say which move comes next, or that all are in."""
    missing = status.due
    if status.complete and not missing:
        return "The fit is complete: stand to the ball, be still for half a second, and swing."
    if status.complete:
        return "The fit is complete enough to swing. It gets better with: " + move_instruction(missing[0])
    if not missing:
        return "Make the last move once more."
    return "Next: " + move_instruction(missing[0])


UNLIKE_BEFORE: Final = (
    "Taken. Club and wrist are not as remembered: you hold the club differently now, or a move went astray. "
    "What is remembered is left out today."
)
_WHY: Final = {
    FitReason.NONE: "The move was not taken{figures}. Make it once more. {again}",
    FitReason.MOVING: (
        "There was no still second{figures}. Breathe out, hold still and try again; resting the arm on something helps."
    ),
    FitReason.NO_DATA: (
        "A sensor did not report meanwhile. Check below that both are sending, then make the move again."
    ),
    FitReason.NOT_GRAVITY: (
        "A sensor does not read gravity as it should{figures}. "
        "If it was not being moved, the sensor is out of adjustment: switch it off and on, or use another."
    ),
    FitReason.TOO_LITTLE: "That was too small a movement{figures}. {again}",
    FitReason.NOT_ONE_AXIS: "The turning was not about one axis{figures}. Slower, only this one movement. {again}",
    FitReason.SWAPPED: (
        "The forearm sensor turned and the club's did not{figures}: they are worn the wrong way round. Exchange them."
    ),
    FitReason.DISAGREES: (
        "This contradicts the moves before it{figures}: a sensor or the clip has turned, or it was another move. "
        "Check that both sit firmly. {again}"
    ),
    FitReason.END_UNKNOWN: (
        "The moves so far do not show which end of the forearm sensor is toward the hand{figures}. "
        "Make the address move as well: stand to the ball as for a shot."
    ),
    FitReason.FEW_ATTITUDES: "Too few different sides so far{figures}. {again}",
    FitReason.UNLIKE_BEFORE: UNLIKE_BEFORE + " {again}",
    FitReason.POOR_TRIM: "The sides do not fit together{figures}: one was not held still. {again}",
}


def rejected_advice(move: Move, reason: FitReason, measured: float | None, limit: float | None) -> str:
    """Say why a move was not taken and what to change."""
    figures = _figures(measured, limit, _UNITS.get(reason))
    return _WHY[reason].format(figures=figures, again=move_instruction(move))


def _figures(measured: float | None, limit: float | None, unit: str | None) -> str:
    if measured is None or limit is None or unit is None:
        return ""
    if not unit:  # a count
        return f" ({measured:.0f} of {limit:.0f})"
    return f" (measured {measured:.1f}{unit}, limit {limit:.1f}{unit})"
