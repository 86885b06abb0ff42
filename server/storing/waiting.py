"""Which recordings are still to come into the store: a small file for each, from its beginning until it is in.

Rule 1: the note of a recording that is being made, or worked out, is locked; the system lets go of it when the program
dies. A note that can be locked was left behind.
Rule 2: a note that cannot be written is no reason to stop a practice: `pitchbend store fill` finds the recording all the same.
"""

from __future__ import annotations

import contextlib
import json
import uuid
from pathlib import Path
from typing import TYPE_CHECKING

import platformdirs

from server.whole_file import replace_text

if TYPE_CHECKING:
    from filelock import FileLock

PATTERN = "*.json"


def waiting_folder() -> Path:
    """Where they lie."""
    return Path(platformdirs.user_data_dir("pitchbend", appauthor=False)) / "to-store"


class Note:
    """One recording that waits. `release` leaves it to the next start, `done` takes it away."""

    def __init__(self, place: Path, recordings: tuple[Path, ...], lock: FileLock) -> None:
        self.recordings = recordings
        self._place = place
        self._lock = lock

    def release(self) -> None:
        """Let go of it."""
        with contextlib.suppress(OSError):
            self._lock.release()

    def done(self) -> None:
        """It waits no longer."""
        for path in (self._place, Path(self._lock.lock_file)):
            with contextlib.suppress(OSError):
                path.unlink(missing_ok=True)
        self.release()


def note(recording: Path, folder: Path | None = None) -> Note:
    """Write down that this recording is to come into the store, and hold the note."""
    folder = folder or waiting_folder()
    place = folder / f"{uuid.uuid4().hex}.json"
    lock = _lock(place)
    with contextlib.suppress(OSError):  # also of a lock that is held
        folder.mkdir(parents=True, exist_ok=True)
        lock.acquire()
        replace_text(place, json.dumps({"recordings": [str(recording.resolve())]}))
    return Note(place, (recording,), lock)


def left_behind(folder: Path | None = None) -> list[Note]:
    """Take up the notes that nobody holds, oldest first. One that says nothing is taken away."""
    found: list[tuple[float, Note]] = []
    for place in (folder or waiting_folder()).glob(PATTERN):
        lock = _lock(place)
        try:
            lock.acquire()
            written_s = place.stat().st_mtime
        except OSError:  # as above: somebody holds it
            lock.release()
            continue
        taken = Note(place, _recordings(place), lock)
        if taken.recordings:
            found.append((written_s, taken))
        else:
            taken.done()
    return [taken for _, taken in sorted(found, key=lambda one: one[0])]


def _lock(place: Path) -> FileLock:
    from filelock import FileLock  # noqa: PLC0415  # every command loads this file, and few make a note

    return FileLock(place.with_suffix(".lock"), timeout=0, thread_local=False)


def _recordings(place: Path) -> tuple[Path, ...]:
    """What a note names, where it is still there."""
    try:
        paths = [Path(path) for path in json.loads(place.read_text(encoding="utf-8"))["recordings"]]
    except (OSError, ValueError, KeyError, TypeError):
        return ()
    return tuple(path for path in paths if path.is_file())
