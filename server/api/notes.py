"""`/api/practices/{key}/notes`: what a coach or a student writes when the practice is over, pinned to an instant of a swing."""

from __future__ import annotations

import time
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Request
from pydantic import AfterValidator, Field

from server.api.asked import Key, TheArchive, may_write, practice_id_in, rep_in
from server.api.errors import ApiProblem, ProblemCode
from server.api.models import NoteView
from server.joining.guest import guest_of
from server.plain_text import plain_lines
from server.store.notes import FIRST_LATER, MOST_LATER, LaterNote, add_note, remove_note
from server.wire_base import Message

router = APIRouter(tags=["notes"], dependencies=[Depends(may_write)])


class NewNote(Message):
    """A note to write down."""

    text: Annotated[str, AfterValidator(plain_lines), Field(min_length=1, max_length=2000)]
    author: Annotated[str, AfterValidator(plain_lines), Field(max_length=80)] = Field(
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
        practice_id = practice_id_in(connection, key)
        if note.rep_number is not None:
            rep_in(connection, practice_id, note.rep_number)
        row = add_note(connection, practice_id, later)
    if row is None:
        said = f"This practice has {MOST_LATER} notes, and takes no more. Remove some that are no longer needed."
        raise ApiProblem(409, ProblemCode.TOO_MANY, said)
    return note_view(row)


@router.delete("/practices/{key}/notes/{number}", status_code=204)
def remove(archive: TheArchive, key: Key, number: Annotated[int, Path(ge=0, le=2**31 - 1)]) -> None:
    """Take a note back that was written when the practice was over."""
    with archive.database().writing() as connection:
        practice_id = practice_id_in(connection, key)
        if not remove_note(connection, practice_id, number):
            said = "There is no such note that could be removed. What a recording holds stays in it."
            raise ApiProblem(404, ProblemCode.NO_SUCH_NOTE, said)


def note_view(row: dict[str, Any]) -> NoteView:
    """Give a row of the store its outside form."""
    return NoteView.of(row, may_remove=row["number"] >= FIRST_LATER)
