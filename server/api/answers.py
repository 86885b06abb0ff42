"""`/api/practices/{key}/answers`: what coaches answered to a practice; and a new answer, as the file to send back."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

from fastapi import APIRouter, Depends
from fastapi.responses import FileResponse
from pydantic import Field
from starlette.background import BackgroundTask

from fusion.drills.parse import DrillInvalid, drill_from
from fusion.drills.write import text_of
from server.answer.form import Answer, Said
from server.api.asked import Key, TheArchive, may_write, practice_id_in, rep_in
from server.api.errors import ApiProblem, ProblemCode
from server.api.paging import Page
from server.api.trace import recording_path
from server.joining.qr import QrView, qr_view
from server.store.answers import answers as answers_in
from server.store.answers import take_answer
from server.wire_base import Message

router = APIRouter(tags=["answers"])


class PrescribedDrill(Message):
    """A drill that a coach prescribes."""

    name: str
    aim: str
    feel: str
    text: str = Field(description="TOML, in the form of shared/drills")
    qr: QrView | None = Field(description="the text as a picture to scan; null when it is too long for one")


class AnswerView(Message):
    """What a coach answered. Their notes stand among the practice's."""

    author: str
    written_unix_s: float
    priority: str = Field(description="the one thing to change")
    drill: PrescribedDrill | None


class AnswerPage(Page):
    """Answers, newest first."""

    items: list[AnswerView]


class NewAnswer(Said):
    """What a coach says."""


@router.get("/practices/{key}/answers")
def answers(archive: TheArchive, key: Key) -> AnswerPage:
    """List what coaches answered."""
    with archive.database().reading() as connection:
        practice_id = practice_id_in(connection, key)
        rows = answers_in(connection, practice_id)
    return AnswerPage(
        items=[
            AnswerView(
                author=row["author"],
                written_unix_s=row["written_unix_s"],
                priority=row["priority"],
                drill=_prescribed(row["drill_text"]),
            )
            for row in rows
        ],
        next=None,
    )


@router.post(
    "/practices/{key}/answers",
    response_class=FileResponse,
    dependencies=[Depends(may_write)],
    responses={200: {"content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}}},
)
def answer(archive: TheArchive, key: Key, said: NewAnswer) -> FileResponse:
    """Make the file of an answer: the recording with what you say in it. It also goes into this store."""
    with archive.database().reading() as connection:
        practice_id = practice_id_in(connection, key)
        for number in sorted({note.rep for note in said.notes}):
            rep_in(connection, practice_id, number)
    recording = recording_path(archive, practice_id)
    asked = Answer(
        author=said.author,
        written_unix_s=time.time(),
        priority=said.priority,
        notes=said.notes,
        drill_text=said.drill_text or "",
    )
    place = Path(tempfile.mkdtemp(prefix="pitchbend-")) / "answer.mcap"
    job = archive.answer_job(recording, place, asked)
    job.over.wait()
    if not isinstance(job.result, Answer):
        _remove(place)
        raise ApiProblem(409, ProblemCode.NOT_WORKED_OUT, f"The answer was not made: {job.problem}.")
    with archive.database().writing() as connection:
        take_answer(connection, practice_id, job.result.model_copy(update={"notes": []}))  # those are here already
    name = f"{recording.stem}-answer.mcap"
    gone = BackgroundTask(_remove, place)
    return FileResponse(place, filename=name, media_type="application/octet-stream", background=gone)


def _prescribed(text: str | None) -> PrescribedDrill | None:
    """Give a drill as it was prescribed; none when a later version wrote what this one cannot read."""
    if text is None:
        return None
    try:
        drill = drill_from(text)
    except DrillInvalid:
        return None
    return PrescribedDrill(name=drill.name, aim=drill.aim, feel=drill.feel, text=text, qr=_picture(text_of(drill)))


def _picture(text: str) -> QrView | None:
    try:
        return qr_view(text)
    except ValueError:  # more than the largest picture holds
        return None


def _remove(place: Path) -> None:
    place.unlink(missing_ok=True)
    place.parent.rmdir()
