"""What to tell a person about a recording in trouble, while the practice goes on."""

from __future__ import annotations

from typing import Final

from sensors.errors import RecorderError
from sensors.record.background import TapeStatus
from server.disk_advice import disk_advice, disk_trouble

LOW_MINUTES: Final = 30
"""Room for less than this is told."""
_STEPS: Final = (1, 2, 5, 10, 20, 30)
STALLED_S: Final = 3.0
"""A disk that has not answered for so long is told; shorter is a disk that spins up."""


def tape_problems(status: TapeStatus) -> dict[str, str]:
    """Give every trouble there is now, by the code of its message. A text changes only when there is news."""
    out: dict[str, str] = {}
    if status.path is None and status.error is not None:
        out["recording_stopped"] = stopped_advice(status.error)
    elif status.error is not None and len(status.paths) > 1:
        out["recording_moved"] = _moved_advice(status.error, status)
    if status.n_missed:
        out["recording_gap"] = (
            "Part of this practice is not in its recording: the disk was away for longer than memory could bridge. "
            "The recording says where the gap is."
        )
    if status.stalled_s >= STALLED_S:
        out["recording_behind"] = (
            "The disk of the recording does not answer. What comes is held in memory, for some 25 minutes; "
            "gauges and sound go on. If it is a network disk or a stick, see that it is still connected."
        )
    if status.path is not None and status.minutes_left is not None and status.minutes_left < LOW_MINUTES:
        minutes = next(step for step in _STEPS if status.minutes_left <= step)
        out["recording_space"] = (
            f"The disk is nearly full: room for less than {minutes} minute{'' if minutes == 1 else 's'} of recording. "
            "Free some space; what is recorded stays."
        )
    return out


def stopped_advice(error: RecorderError) -> str:
    """Tell that there is no place to write at present."""
    return (
        f"Recording has stopped: {disk_advice(error.cause)} next time. "
        f"What was recorded before is kept in {error.path}. What comes now is held in memory, for some 25 minutes, and "
        "recorded as soon as there is room. Gauges and sound go on."
    )


def _moved_advice(error: RecorderError, status: TapeStatus) -> str:
    return (
        f"Recording to {error.path} stopped: {disk_trouble(error.cause)}. It goes on in {status.path}, "
        "with nothing left out. `pitchbend recover` with both files makes one of them."
    )


def end_sentences(status: TapeStatus) -> list[str]:
    """Say at the end where the practice is, and what is wrong with it; nothing when nothing was recorded."""
    out = [f"Recorded in {path}" for path in status.paths]
    if len(status.paths) > 1:
        out.append("These are one practice; `pitchbend recover` with all of them makes one file.")
    if status.stalled_s > 0.0:
        out.append(
            "The disk does not answer, so the recording could not be finished. What it has taken stays readable."
        )
    elif status.path is None and status.error is not None:
        out.append(
            f"The recording could not be finished: {disk_advice(status.error.cause)}. What it holds is readable."
        )
    if status.n_held or status.n_missed:
        lost = f"the last {status.held_s:.0f} s" if not status.n_missed else "part of the practice"
        out.append(f"Not recorded: {lost}, for want of a place to write to.")
    return out
