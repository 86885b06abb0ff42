"""What cannot be done with a recording that plays, in plain sentences."""

from __future__ import annotations

from server.wire import ProblemMessage
from server.wire_replay import SLOWEST


def not_a_replay(*, live: bool) -> ProblemMessage:
    """Say that there is nothing to wind."""
    text = (
        "Stopping, stepping and winding are for recordings, and this is live. Open its recording with pitchbend replay."
        if live
        else "This recording is played by a part of the program that cannot be steered."
    )
    return ProblemMessage(code="not_a_replay", text=text)


def not_begun() -> ProblemMessage:
    """Say that nothing is being played."""
    text = "The recording is not being played: it is still being opened, or it cannot be read any further."
    return ProblemMessage(code="replay_not_begun", text=text)


def too_slow() -> ProblemMessage:
    """Say what speeds there are."""
    text = f"The slowest that a recording plays is {SLOWEST:g} of its own speed. 0 stands for as fast as can be."
    return ProblemMessage(code="replay_speed", text=text)


def no_such_rep(*, known: bool) -> ProblemMessage:
    """Say that there is no rep there, or that it is not known yet (`known` false)."""
    text = (
        "There is no such rep in this recording."
        if known
        else "The recording is still being read, and no rep has been found there yet. Try again in a moment."
    )
    return ProblemMessage(code="replay_rep", text=text)


def not_read(why: str) -> str:
    """Say that there will be no timeline."""
    return (
        f"The recording could not be read ahead ({why}), so its reps are not shown here. It can still be played and "
        "wound; long jumps take longer."
    )
