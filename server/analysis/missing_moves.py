"""What it costs when a fit move was not made, in words; `docs/import-and-analysis.md` has the figures."""

from __future__ import annotations

from collections.abc import Collection
from typing import assert_never

from sensors.ids import Move


def missing(taken: Collection[Move]) -> list[Move]:
    """Moves that were not made, or not well enough to be taken."""
    return [move for move in Move if move not in taken]


def cost(move: Move) -> str:  # noqa: C901, PLR0911  # a table: one case a member, checked to be complete
    """Say what rests on less without this move."""
    match move:
        case Move.STILL:
            return "the gyroscopes' zero comes from standing still only"
        case Move.ATTITUDE:
            return "accelerometers and gyroscope scale are taken as the maker left them; every angle suffers"
        case Move.NEUTRAL:
            return "bend and hinge have no zero of their own; changes since address stand"
        case Move.BEND:
            return "the bend axis comes from the other moves; bend and hinge may mix"
        case Move.HINGE:
            return "the hinge axis comes from the other moves; bend and hinge may mix"
        case Move.ROLL:
            return (
                "the forearm's long axis comes from how it lies in other moves; roll leaks into bend and hinge; "
                "whose clock is late is less sure"
            )
        case Move.TWIRL:
            return "the shaft comes from how the club lies in other moves; elevation and pitch suffer"
        case Move.LOCKED:
            return "how the sensors lie to each other is not checked; whose clock is late is told by roll alone"
        case Move.PALM:
            return "the forearm sensor's roll about the forearm is less sure, and passes into hinge one to one"
        case Move.ADDRESS:
            return "the first still moment over the ball stands in for it"
        case _:
            assert_never(move)
