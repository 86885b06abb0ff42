"""Who steers a practice. The student does until the coach takes over, and may take it back at any time: it is their practice.

Rule 1: it changes hands only when somebody asks, and everybody is told.
Rule 2: a coach who has gone for `COACH_AWAY_S` has given it back.
"""

from __future__ import annotations

from typing import Final

from server.joining.guest import Guest, GuestRole
from server.wire import ProblemMessage
from server.wire_lesson import ControlMessage, Holder

COACH_AWAY_S: Final = 60.0
"""Long enough for a tablet that sleeps or is carried through a dead spot; short enough that nobody waits for one gone home."""

_TEXTS: Final = {
    "coach": "The coach is not in control of this practice, so its drill and settings stay. Take over first.",
    "student": (
        "Your coach is steering, so drill and settings are set from the coach's page. "
        "Take back the control to change them here."
    ),
}


class Control:
    """Of one practice; `now_s` is any steady clock."""

    def __init__(self) -> None:
        self.holder: Holder = "student"
        self._n_coaches = 0
        self._away_since_s: float | None = None

    def refuses(self, guest: Guest) -> ProblemMessage | None:
        """Give the reason why this guest may not steer, if so."""
        if guest.role == self.holder:
            return None
        return ProblemMessage(code="not_in_control", text=_TEXTS[guest.role])

    def ask(self, guest: Guest, *, hold: bool) -> ControlMessage | ProblemMessage | None:
        """Take the control, or give it to the other; None when nothing changes by it."""
        if not hold and guest.role != self.holder:
            return None
        coach = (guest.role is GuestRole.COACH) == hold
        if coach and not self._n_coaches:
            return ProblemMessage(code="no_coach", text="No coach is connected, so the control stays here.")
        holder: Holder = "coach" if coach else "student"
        if holder == self.holder:
            return None
        self.holder = holder
        taken_back = hold and holder == "student"
        return ControlMessage(
            holder=holder, reason="taken_back" if taken_back else "asked", by=guest.name or guest.role.value
        )

    def came(self, guest: Guest) -> None:
        """Somebody connected."""
        if guest.role is GuestRole.COACH:
            self._n_coaches += 1
            self._away_since_s = None

    def went(self, guest: Guest, now_s: float) -> None:
        """A connection ended."""
        if guest.role is GuestRole.COACH:
            self._n_coaches -= 1
            if not self._n_coaches:
                self._away_since_s = now_s

    def look(self, now_s: float) -> ControlMessage | None:
        """Give the control back when its holder has been away too long."""
        away_s = self._away_since_s
        if self.holder != "coach" or away_s is None or now_s - away_s < COACH_AWAY_S:
            return None
        self.holder = "student"
        return ControlMessage(holder="student", reason="coach_gone")
