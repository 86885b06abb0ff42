"""Notes that are written when the practice is over: they stand in the store alone, not in the recording.

Their numbers begin where those of a recording never come, so that filling a practice anew touches none of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Connection, delete, func, insert, select

from server.store.schema import NOTE

FIRST_LATER: Final = 1_000_000
MOST_LATER: Final = 1000
"""For one practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LaterNote:
    """One note to write down."""

    at_unix_s: float
    author: str
    text: str
    rep: int | None
    after_takeaway_s: float | None
    """The instant of the rep that it is pinned to."""


def add_note(connection: Connection, practice_id: int, note: LaterNote) -> dict[str, Any] | None:
    """Write it; gives the row, or None when the practice has as many as it may."""
    later = select(func.max(NOTE.c.number)).where(NOTE.c.practice_id == practice_id, NOTE.c.number >= FIRST_LATER)
    last = connection.execute(later).scalar_one()
    number = FIRST_LATER if last is None else last + 1
    if number >= FIRST_LATER + MOST_LATER:
        return None
    row = {
        "number": number, "at_unix_s": note.at_unix_s, "author": note.author, "kind": "note", "text": note.text,
        "rep_number": note.rep, "after_takeaway_s": note.after_takeaway_s,
    }  # fmt: skip
    connection.execute(insert(NOTE).values(practice_id=practice_id, **row))
    return row


def remove_note(connection: Connection, practice_id: int, number: int) -> bool:
    """Delete one that was written later; False when there is none of that number."""
    if number < FIRST_LATER:
        return False
    found = connection.execute(delete(NOTE).where(NOTE.c.practice_id == practice_id, NOTE.c.number == number))
    return found.rowcount > 0
