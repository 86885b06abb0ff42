"""What to tell the person of a sensor that sits otherwise than at the fit."""

from __future__ import annotations

import math
from typing import Final, assert_never

from fusion.outputs.fit import SensorTurned, TurnKind
from sensors.ids import Role

_WHAT: Final = {Role.FOREARM: "forearm sensor", Role.CLUB: "club's sensor"}
_CAUSE: Final = {
    Role.FOREARM: "its strap has slipped round the arm",
    Role.CLUB: "its clip has turned, or the club is taken more open or shut",
}
_AGAIN: Final = {
    Role.FOREARM: "wrist straight, roll, palm flat and address",
    Role.CLUB: "wrist straight, twirl and address",
}


def turned_code(role: Role) -> str:
    """Name the problem on the wire."""
    return f"turned:{role.value}"


def turned_advice(told: SensorTurned, *, replayed: bool) -> str:
    """Say what has turned and by how much, what it does to the figures, and what to do."""
    what = _WHAT[told.role]
    match told.kind:
        case TurnKind.ROLLED:
            text = (
                f"The {what} lies about {math.degrees(abs(told.by_rad)):.0f}° from how it did at the fit "
                f"({told.n_swings} swings): {_CAUSE[told.role]}. Bend and hinge are less sure; shaft and face figures stand."
            )
        case TurnKind.REVERSED:
            text = f"The {what} is on upside down: at the fit its other end was up. No swing can be measured so."
        case TurnKind.BACK:
            return f"The {what} sits again as at the fit."
        case _:
            assert_never(told.kind)
    if replayed:
        return text
    return f"{text} Turn it back, or make {_AGAIN[told.role]} again."
