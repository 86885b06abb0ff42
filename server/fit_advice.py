"""What to tell the golfer during the four fit poses: what to do, what went wrong, what comes next."""

from __future__ import annotations

from typing import assert_never

from fusion.calibration.session import NEEDED, FitStatus
from fusion.outputs import FitProgress, FitReason, FitState
from sensors.ids import Move


def fit_advice(progress: FitProgress, status: FitStatus) -> str:
    """Say in a plain sentence or two what to do next or differently."""
    match progress.state:
        case FitState.COLLECTING:
            return hold_advice(progress.move)
        case FitState.TAKEN:
            return "Taken. " + next_advice(status)
        case FitState.REJECTED:
            return rejected_advice(progress.move, progress.reason, progress.measured, progress.limit)
        case _:
            assert_never(progress.state)


def move_instruction(move: Move) -> str:
    """Say how to make a pose."""
    match move:
        case Move.STILL:
            return "Lay both sensors down, on the ground or a table, and do not touch them."
        case Move.ARM_DOWN:
            return "Let the lead arm hang straight down, wrist straight, club in hand."
        case Move.ARM_LEVEL:
            return "Hold the lead arm straight out, level, thumb up, wrist straight, with the same grip."
        case Move.CLUB_HANG:
            return "Hold the end of the grip between two fingers and let the club hang head down."
        case _:
            assert_never(move)


def hold_advice(move: Move) -> str:
    """Say what to do while a pose is being taken."""
    return move_instruction(move) + " Stay still for a second or two."


def next_advice(status: FitStatus) -> str:
    """Say which pose comes next, or that all are in."""
    if status.complete:
        return "The fit is complete: stand to the ball, be still for half a second, and swing."
    missing = [move for move in NEEDED if move not in status.taken]
    if not missing:
        return "Make the last pose once more."
    return "Next: " + move_instruction(missing[0])


def rejected_advice(move: Move, reason: FitReason, measured: float | None, limit: float | None) -> str:
    """Say why a pose was not taken and what to change."""
    match reason:
        case FitReason.NONE:
            return "The pose was not taken. Make it once more."
        case FitReason.MOVING:
            return (
                f"There was no still second{_figures(measured, limit, '°/s')}. "
                "Breathe out, hold still and try again; resting the arm on something helps."
            )
        case FitReason.NO_DATA:
            return (
                "A sensor did not report during the pose. Check below that both are sending, then make the pose again."
            )
        case FitReason.WRONG_POSE:
            return (
                f"This does not fit the other poses{_figures(measured, limit, '°')}: "
                f"wrist or grip changed, or it was another pose. {move_instruction(move)}"
            )
        case FitReason.POSES_ALIKE:
            return (
                f"Arm down and arm level were too much alike{_figures(measured, limit, '°')}. "
                "Let the arm hang straight for one and hold it level for the other."
            )
        case FitReason.NOT_GRAVITY:
            return (
                f"A sensor does not read gravity as it should{_figures(measured, limit, ' m/s²')}. "
                "If it was not being moved, the sensor is out of adjustment: switch it off and on, or use another."
            )
        case _:
            assert_never(reason)


def _figures(measured: float | None, limit: float | None, unit: str) -> str:
    if measured is None or limit is None:
        return ""
    return f" (off by {measured:.1f}{unit}, at most {limit:.1f}{unit})"
