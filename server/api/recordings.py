"""`/api/recordings`: recordings that come from elsewhere; and the one of a practice, to take along."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Annotated, Literal, cast

from fastapi import APIRouter, Depends, Query, Request
from fastapi import Path as InPath
from fastapi.responses import FileResponse
from pydantic import Field

from sensors.errors import RecordingError
from sensors.record.paths import received_folder
from sensors.record.reader import read_head
from server.api.archive import Archive
from server.api.asked import Key, TheArchive, may_write, practice_id_in
from server.api.errors import ApiProblem, ProblemCode
from server.api.receiving import keep, receiving
from server.api.sight import TheSight
from server.api.trace import recording_path
from server.joining.guest import guest_of
from server.store import looking
from server.store.incoming import Taken
from server.wire_base import Message

router = APIRouter(tags=["recordings"])
Sha = Annotated[str, InPath(pattern="^[0-9a-f]{64}$", description="SHA-256 of its content")]


class Incoming(Message):
    """A recording that was sent, and what has become of it."""

    id: str = Field(description="SHA-256 of its content: ask by it how far it is")
    done: float = Field(ge=0, le=1, description="how much of it is worked out")
    outcome: Literal["stored", "known", "matched", "refused"] | None = Field(
        description="null while it is being worked out; then stored, known (it was there already), matched (its practice was) "
        "or refused"
    )
    key: str | None = Field(description="of its practice, once that is in the store")
    detail: str = Field(description="why it was refused, a sentence; else empty")


@router.post("/recordings", status_code=202, dependencies=[Depends(may_write)], openapi_extra={
    "requestBody": {"required": True, "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}}
})  # fmt: skip
async def send(
    archive: TheArchive,
    request: Request,
    sight: TheSight,
    name: Annotated[str, Query(max_length=500, description="of the file, to know it by")] = "",
) -> Incoming:
    """Send a recording: the body is the file. It is looked through and worked out while you ask how far it is."""
    folder = archive.wish.keep_in or received_folder()
    async with receiving(request, folder) as received:
        if not sight.everything:
            archive.note_sender(received.sha256, guest_of(request).id)
        known = await asyncio.to_thread(_known, archive, received.sha256)
        if known is not None:
            return Incoming(id=received.sha256, done=1.0, outcome="known", key=known, detail="")
        if archive.incoming(received.sha256) is None:
            try:
                await asyncio.to_thread(read_head, received.path)
            except RecordingError as error:
                said = f"It cannot be taken: {error.problem}."
                raise ApiProblem(415, ProblemCode.NOT_A_RECORDING, said) from error
            place = await asyncio.to_thread(keep, received, folder, name)
            if not archive.take_in(received.sha256, place):
                place.unlink(missing_ok=True)
                said = (
                    "Many recordings are being worked out already. Wait until some are done, then send this one again."
                )
                raise ApiProblem(429, ProblemCode.TOO_MANY, said)
    return _incoming(archive, received.sha256)


@router.get("/recordings/{sha256}")
def sent(archive: TheArchive, sha256: Sha) -> Incoming:
    """Say what has become of a recording that was sent."""
    known = _known(archive, sha256) if archive.incoming(sha256) is None else None
    if known is not None:
        return Incoming(id=sha256, done=1.0, outcome="known", key=known, detail="")
    return _incoming(archive, sha256)


@router.get("/practices/{key}/recording", response_class=FileResponse, responses={
    200: {"content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}}
})  # fmt: skip
def recording(archive: TheArchive, key: Key) -> FileResponse:
    """Take a practice's recording along, as it is."""
    with archive.database().reading() as connection:
        practice_id = practice_id_in(connection, key)
    path = recording_path(archive, practice_id)
    return FileResponse(
        path, filename=path.name, media_type="application/octet-stream", headers={"Cache-Control": "no-cache"}
    )


def _known(archive: Archive, sha256: str) -> str | None:
    """Give the key of the practice that this very file is known to hold, and that is still there."""
    with archive.database().reading() as connection:
        found = looking.whereabouts(connection, sha256)
    return found[0] if found is not None and Path(found[1]).is_file() else None


def _incoming(archive: Archive, sha256: str) -> Incoming:
    job = archive.incoming(sha256)
    if job is None:
        raise ApiProblem(
            404, ProblemCode.NO_SUCH_UPLOAD, "This recording was not sent here, or Pitchbend has been started anew."
        )
    if not job.over.is_set():
        return Incoming(id=sha256, done=job.done, outcome=None, key=None, detail="")
    taken = (
        job.result if isinstance(job.result, Taken) else Taken(outcome="refused", detail=f"It failed: {job.problem}.")
    )
    outcome = cast("Literal['stored', 'known', 'matched', 'refused']", taken.outcome)
    return Incoming(id=sha256, done=1.0, outcome=outcome, key=taken.key, detail=taken.detail)
