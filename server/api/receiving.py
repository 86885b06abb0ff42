"""Takes a file from the network onto the disk: as it comes, no longer than allowed, and gone again unless it came whole."""

from __future__ import annotations

import asyncio
import contextlib
import hashlib
import os
import shutil
import tempfile
import time
from collections.abc import AsyncIterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Final

from fastapi import Request
from starlette.requests import ClientDisconnect

from sensors.record.paths import plain_name
from sensors.record.salvage import MAGIC
from server.api.errors import ApiProblem, ProblemCode
from server.disk_advice import disk_trouble

MOST_BYTES: Final = 256 * 2**20
"""Ten hours of two sensors."""
_LEAST_FREE_BYTES: Final = 256 * 2**20
"""So much of the disk stays free for the practice that is being recorded."""
_PART: Final = ".receiving-"
_OLD_S: Final = 86_400.0


@dataclass(frozen=True, slots=True)
class Received:
    """A file that came whole."""

    path: Path
    sha256: str


@contextlib.asynccontextmanager
async def receiving(request: Request, folder: Path) -> AsyncIterator[Received]:
    """Receive a request's body into a file that is deleted at the end unless it was moved. Raises `ApiProblem`."""
    announced = _announced(request)
    try:
        await asyncio.to_thread(_make_room, folder, announced or 0)
        handle, name = await asyncio.to_thread(tempfile.mkstemp, ".part", _PART, folder)
    except OSError as error:
        raise _not_kept(error) from error
    path = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            sha256 = await _stream(request, file, announced)
        yield Received(path, sha256)
    except OSError as error:
        raise _not_kept(error) from error
    except ClientDisconnect as error:  # nobody hears it any more
        raise _not_whole() from error
    finally:
        with contextlib.suppress(OSError):
            path.unlink(missing_ok=True)  # noqa: ASYNC240  # also while the task is being cancelled


def keep(received: Received, folder: Path, name: str) -> Path:
    """Give a file its place and its name, of which nothing but letters and digits is taken. Raises OSError."""
    place = folder / f"{plain_name(Path(name).stem)}-{received.sha256[:8]}.mcap"
    received.path.replace(place)
    return place


async def _stream(request: Request, file: IO[bytes], announced: int | None) -> str:
    found, n_bytes = hashlib.sha256(), 0
    head = b""
    async for piece in request.stream():
        n_bytes += len(piece)
        if n_bytes > MOST_BYTES:
            raise _too_large()
        if len(head) < len(MAGIC):
            head += piece[: len(MAGIC)]
            if not MAGIC.startswith(head[: len(MAGIC)]):
                raise _not_a_recording()
        found.update(piece)
        await asyncio.to_thread(file.write, piece)
    if len(head) < len(MAGIC):
        raise _not_a_recording()
    if announced is not None and n_bytes != announced:
        raise _not_whole()
    return found.hexdigest()


def _announced(request: Request) -> int | None:
    headers = request.headers
    if headers.get("content-encoding", "identity") != "identity":
        raise ApiProblem(415, ProblemCode.NOT_A_RECORDING, "It is packed. Send the recording as it is.")
    text = headers.get("content-length", "")
    announced = int(text) if text.isdecimal() and len(text) < 20 else None
    if announced is not None and announced > MOST_BYTES:
        raise _too_large()
    return announced


def _make_room(folder: Path, n_bytes: int) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for left in folder.glob(f"{_PART}*"):  # by a program that was killed meanwhile
        with contextlib.suppress(OSError):
            if left.stat().st_mtime < time.time() - _OLD_S:
                left.unlink()
    if shutil.disk_usage(folder).free < n_bytes + _LEAST_FREE_BYTES:
        said = "The disk of this computer is nearly full, and what is left is for recording. Free some space, then send it again."
        raise ApiProblem(507, ProblemCode.DISK, said)


def _too_large() -> ApiProblem:
    said = f"It is larger than {MOST_BYTES // 2**20} MB, and no recording is. Check that it is the right file."
    return ApiProblem(413, ProblemCode.TOO_LARGE, said)


def _not_a_recording() -> ApiProblem:
    return ApiProblem(
        415, ProblemCode.NOT_A_RECORDING, "It is not a Pitchbend recording. Check that it is the right file."
    )


def _not_whole() -> ApiProblem:
    return ApiProblem(422, ProblemCode.NOT_A_RECORDING, "It has not come whole. Send it again.")


def _not_kept(error: OSError) -> ApiProblem:
    return ApiProblem(507, ProblemCode.DISK, f"It could not be kept: {disk_trouble(error)}.")
