"""What the terminal says of practices that come into the store by themselves."""

from __future__ import annotations

from typing import Final

from server.storing.order import Became, Told

WORKING: Final = "Putting what was recorded into the store; Ctrl-C leaves that for the next start."
LEFT_FOR_LATER: Final = "What is not in the store yet is put there at the next start, or by `pitchbend store fill`."
_STORED: Final = "It is in the store: `pitchbend progress` and `pitchbend store` go on from there."
_BROKEN: Final = "The recording is whole, but putting it into the store failed. `pitchbend store fill` says more."
_NOT_YET: Final = "The recording is whole; it is put there at the next start, or by `pitchbend store fill`."


def told_sentences(told: Told) -> list[str]:
    """Say what became of an order; nothing of what was known already."""
    out: list[str] = []
    for path, became, problem in told.outcomes:
        match became:
            case Became.STORED:
                out.append(_STORED)
            case Became.NO_REPS:
                out.append(f"{path} is not in the store: nobody swings in it.")
            case Became.UNREADABLE:
                out.append(f"{path} did not come into the store: {problem}.")
            case Became.KNOWN:
                pass
    if told.trouble:
        out.append(f"{told.trouble} {_NOT_YET}")
    elif told.broken:
        out.append(_BROKEN)
    return out
