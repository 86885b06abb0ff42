"""How far the files are that are being worked out: whoever works on one says so in a small file beside the results.

Processes here and computers of a cluster share that folder anyway, so nothing else has to connect them. What is told is for the
eye only: a note that cannot be written or read is left out.
"""

from __future__ import annotations

import contextlib
import hashlib
import shutil
import time
from pathlib import Path
from types import TracebackType
from typing import Final, Self

NOTE_EVERY_S: Final = 0.25
_FOLDER: Final = ".under_way"


class UnderWay:
    """The note of one file while it is worked on: a context manager that leaves none behind."""

    def __init__(self, out: Path, path: Path) -> None:
        self._note = out / _FOLDER / note_name(path)
        self._next_s = 0.0

    def __enter__(self) -> Self:
        with contextlib.suppress(OSError):
            self._note.parent.mkdir(parents=True, exist_ok=True)
        return self

    def __exit__(
        self, exc_type: type[BaseException] | None, exc: BaseException | None, tb: TracebackType | None
    ) -> None:
        with contextlib.suppress(OSError):
            self._note.unlink(missing_ok=True)

    def tell(self, read_bytes: int) -> None:
        """Say how much of the file has been read, as often as one likes."""
        now_s = time.monotonic()
        if now_s >= self._next_s:
            self._next_s = now_s + NOTE_EVERY_S
            with contextlib.suppress(OSError):
                self._note.write_text(str(read_bytes), encoding="ascii")


def notes_in(out: Path) -> dict[str, int]:
    """What is told now: bytes read, by `note_name`."""
    return {note.name: _told(note) for note in (out / _FOLDER).glob("*")}


def sweep(out: Path) -> None:
    """Take away what notes workers have left that were stopped."""
    shutil.rmtree(out / _FOLDER, ignore_errors=True)


def _told(note: Path) -> int:
    try:
        return int(note.read_text(encoding="ascii") or 0)
    except (OSError, ValueError):
        return 0


def note_name(path: Path) -> str:
    """Name of the note of a recording."""
    return hashlib.sha256(str(path).encode()).hexdigest()[:32]
