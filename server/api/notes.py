"""`/api/practices/{key}/notes`: what a coach or a student writes when the practice is over, pinned to an instant of a swing."""

from __future__ import annotations

import time
import unicodedata
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Request
from pydantic import AfterValidator, Field

from server.api.asked import Key, TheArchive, may_write, no_such_practice, no_such_rep
from server.api.errors import ApiProblem, ProblemCode
from server.api.models import NoteView
from server.joining.guest import guest_of
from server.store import looking
from server.store.notes import FIRST_LATER, MOST_LATER, LaterNote, add_note, remove_note
from server.wire_base import Message

router = APIRouter(tags=["notes"], dependencies=[Depends(may_write)])


def _printable(text: str) -> str:
    """No characters that steer a terminal or a page, or that some database cannot hold."""
    if any(unicodedata.category(one) in ("Cc", "Cs") and one != "\n" for one in text):
        raise ValueError("must be plain text")
    return text.strip()


class NewNote(Message):
    """A note to write down."""

    text: Annotated[str, AfterValidator(_printable), Field(min_length=1, max_length=2000)]
    author: Annotated[str, AfterValidator(_printable), Field(max_length=80)] = Field(
        default="", description="by default who the page is: the device that joined, or student or coach"
    )
    rep_number: int | None = Field(default=None, ge=1, le=1_000_000)
    after_takeaway_s: float | None = Field(default=None, ge=-5, le=60, description="needs rep_number")


@router.post("/practices/{key}/notes", status_code=201)
def add(*, archive: TheArchive, key: Key, note: NewNote, request: Request) -> NoteView:
    """Write a note to a practice, one of its reps, or an instant of that."""
    if not note.text:
        raise ApiProblem(422, ProblemCode.BAD_REQUEST, "There is nothing in this note. Write something first.")
    if note.rep_number is None and note.after_takeaway_s is not None:
        raise ApiProblem(422, ProblemCode.BAD_REQUEST, "An instant is one of a rep: say which, in rep_number.")
    guest = guest_of(request)
    later = LaterNote(
        at_unix_s=time.time(),
        author=note.author or guest.name or guest.role.value,
        text=note.text,
        rep=note.rep_number,
        after_takeaway_s=note.after_takeaway_s,
    )
    with archive.database().writing() as connection:
        practice_id = looking.practice_id_of(connection, key)
        if practice_id is None:
            raise no_such_practice()
        if note.rep_number is not None and looking.rep(connection, practice_id, note.rep_number) is None:
            raise no_such_rep(note.rep_number)
        row = add_note(connection, practice_id, later)
    if row is None:
        said = f"This practice has {MOST_LATER} notes, and takes no more. Remove some that are no longer needed."
        raise ApiProblem(409, ProblemCode.TOO_MANY, said)
    return note_view(row)


@router.delete("/practices/{key}/notes/{number}", status_code=204)
def remove(archive: TheArchive, key: Key, number: Annotated[int, Path(ge=0, le=2**31 - 1)]) -> None:
    """Take a note back that was written when the practice was over."""
    with archive.database().writing() as connection:
        practice_id = looking.practice_id_of(connection, key)
        if practice_id is None:
            raise no_such_practice()
        if not remove_note(connection, practice_id, number):
            said = "There is no such note that could be removed. What a recording holds stays in it."
            raise ApiProblem(404, ProblemCode.NO_SUCH_NOTE, said)


def note_view(row: dict[str, Any]) -> NoteView:
    """Give a row of the store its outside form."""
    return NoteView.of(row, may_remove=row["number"] >= FIRST_LATER)
