"""Coaches' answers to a practice, as they came in its recordings. An answer is known by who wrote it, and when."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, insert, select

from server.answer.form import Answer
from server.store.notes import LaterNote, add_note
from server.store.schema import ANSWER, REP
from server.store.write import find


def take_answer(connection: Connection, practice_id: int, answer: Answer) -> bool:
    """Write it down with its notes, those on reps of the practice; False when it was there already."""
    known_by = {"practice_id": practice_id, "author": answer.author, "written_unix_s": answer.written_unix_s}
    if find(connection, ANSWER, known_by) is not None:
        return False
    connection.execute(
        insert(ANSWER).values(**known_by, priority=answer.priority, drill_text=answer.drill_text or None)
    )
    there = set(connection.execute(select(REP.c.number).where(REP.c.practice_id == practice_id)).scalars())
    for note in answer.notes:
        if note.rep in there:
            later = LaterNote(
                at_unix_s=answer.written_unix_s,
                author=answer.author,
                text=note.text,
                rep=note.rep,
                after_takeaway_s=note.after_takeaway_s,
            )
            add_note(connection, practice_id, later)
    return True


def answers(connection: Connection, practice_id: int) -> list[dict[str, Any]]:
    """Give those of a practice, the newest first."""
    asked = (
        select(ANSWER).where(ANSWER.c.practice_id == practice_id).order_by(ANSWER.c.written_unix_s.desc(), ANSWER.c.id)
    )
    return [dict(row) for row in connection.execute(asked).mappings()]
