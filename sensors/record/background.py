"""Records a practice in a thread of its own: a disk that hangs, fills up or goes away never holds up what is live.

Rule 1: `write` never waits and no disk makes it fail. Trouble shows in `status`.
Rule 2: while there is no place to write, events wait in memory, and are written as soon as there is one again: into a
second file beside the first, or in the fallback folder when that place is gone. Nothing written before is touched.
Rule 3: what the process holds that the operating system does not is at most `FLUSH_S` old while the disk works.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from sensors.errors import RecorderError
from sensors.events import SourceEvent
from sensors.record import format as fmt
from sensors.record.backlog import MAX_EVENTS, Backlog
from sensors.record.disk_room import free_bytes, minutes_left
from sensors.record.paths import part_path
from sensors.record.restate import Restated
from sensors.record.tape_file import TapeFile

RETRY_S: Final = 5.0
ROOM_EVERY_S: Final = 5.0
LEAST_FREE_BYTES: Final = 4 * 2**20
"""A second file is begun only where there is room for some ten minutes: else it would stop again at once."""
CLOSE_S: Final = 5.0
_MAX_PARTS: Final = 99


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeStatus:
    """How the recording fares at one moment."""

    path: Path | None = None
    """Where it goes now; None while there is no place."""
    paths: tuple[Path, ...] = ()
    """Every file of the practice, in order."""
    size_bytes: int = 0
    """Of the present file."""
    error: RecorderError | None = None
    """Why the last file ended early; stays when another one was begun."""
    n_held: int = 0
    """Events that wait in memory, and would be lost with the process."""
    held_s: float = 0.0
    n_missed: int = 0
    """Events that are lost: there was no room for them in memory either."""
    minutes_left: float | None = None
    """Until the disk is full, at this recording's rate."""
    stalled_s: float = 0.0
    """How long the disk has not answered."""


class BackgroundRecorder:
    """Raises `RecorderError` when the file cannot be begun. `notes` is free text that each file holds.

    `steady_s`, `free` and the rest are for tests.
    """

    def __init__(
        self,
        path: Path,
        *,
        fallback: Path | None = None,
        notes: Mapping[str, str] | None = None,
        retry_s: float | None = None,
        max_events: int = MAX_EVENTS,
        steady_s: Callable[[], float] = time.monotonic,
        free: Callable[[Path], int | None] = free_bytes,
    ) -> None:
        self._first = path
        self._fallback = fallback
        self._retry_s = RETRY_S if retry_s is None else retry_s
        self._steady_s = steady_s
        self._free = free
        self._backlog = Backlog(max_events=max_events)
        self._restated = Restated()
        self._notes = dict(notes or {})
        self._file: TapeFile | None = self._open(path, {})
        self._paths: tuple[Path, ...] = (path,)
        self._error: RecorderError | None = None
        self._minutes_left: float | None = None
        self._room_at_s = float("-inf")
        self._busy_since_s: float | None = None
        self._bug: Exception | None = None
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="recording", daemon=True)
        self._thread.start()

    @property
    def status(self) -> TapeStatus:
        """How it fares now."""
        file, busy_since_s = self._file, self._busy_since_s  # the thread may change them meanwhile
        return TapeStatus(
            path=None if file is None else file.path,
            paths=self._paths,
            size_bytes=0 if file is None else file.size_bytes,
            error=self._error,
            n_held=len(self._backlog),
            held_s=self._backlog.held_s,
            n_missed=self._backlog.n_missed,
            minutes_left=self._minutes_left,
            stalled_s=0.0 if busy_since_s is None else self._steady_s() - busy_since_s,
        )

    def write(self, event: SourceEvent) -> None:
        """Record one event, soon. Raises only a bug that ended the thread: it must not go unseen."""
        if self._bug is not None:
            raise self._bug
        self._backlog.put(event)

    def close(self, timeout_s: float = CLOSE_S) -> TapeStatus:
        """Write what waits and finish the file. A disk that hangs is given up after `timeout_s`; `status` then says so."""
        self._stop.set()
        self._backlog.close()
        self._thread.join(timeout_s)
        if self._bug is not None:
            raise self._bug
        return self.status

    def _run(self) -> None:
        try:
            self._record()
        except Exception as bug:  # noqa: BLE001 - passed on whole to whoever writes; here it would end in a log
            self._bug = bug
            if self._file is not None:
                self._file.abandon()  # what it holds stays readable

    def _record(self) -> None:
        while True:
            if self._file is None and not self._resume():
                if self._stop.is_set():
                    return
                self._stop.wait(self._retry_s)
            elif self._file is not None and self._write_next(self._file) and self._finish(self._file):
                return

    def _write_next(self, file: TapeFile) -> bool:
        """Write an event, or what waits when none comes. True when all is written and nothing more will come."""
        is_last = self._stop.is_set()
        event = self._backlog.take(0.0 if is_last else file.wait_s())

        def write() -> None:
            if event is not None:
                file.write(event)
            file.flush(if_due=event is not None)
            self._look_at_room(file)

        return self._at_disk(write) and is_last and event is None

    def _finish(self, file: TapeFile) -> bool:
        """Close the file; False when that failed and there may be something to do elsewhere."""
        if file.n_packets:
            return self._at_disk(file.close)
        file.discard()  # a practice in which no sensor ever sent leaves none behind
        self._file, self._paths = None, self._paths[:-1]
        return True

    def _at_disk(self, action: Callable[[], None]) -> bool:
        """Do what may take long, and fail. False when it failed: then there is no file any more."""
        error = self._try(action)
        if error is None:
            return True
        self._error = error
        if self._file is not None:
            file, self._file = self._file, None
            self._backlog.give_back(file.abandon())
        return False

    def _try(self, action: Callable[[], None]) -> RecorderError | None:
        self._busy_since_s = self._steady_s()
        try:
            action()
        except RecorderError as error:
            return error
        finally:
            self._busy_since_s = None
        return None

    def _look_at_room(self, file: TapeFile) -> None:
        now_s = self._steady_s()
        if now_s - self._room_at_s < ROOM_EVERY_S:
            return
        self._room_at_s = now_s
        free = self._free(file.path.parent)
        age_s = now_s - file.begun_s
        self._minutes_left = None if free is None else minutes_left(free, file.size_bytes, age_s)

    def _resume(self) -> bool:
        """Go on in another file, if there is something to write and a place for it."""
        at_ns = self._backlog.first_ns()
        if at_ns is None or len(self._paths) >= _MAX_PARTS:
            return False
        return any(self._resume_in(folder, at_ns) for folder in self._places())

    def _places(self) -> Iterator[Path]:
        """Folders to go on in. The first one is not made again when the folder above it has gone: its disk may have."""
        day = self._first.parent
        if day.parent.exists():
            yield day
        if self._fallback is not None and self._fallback / day.name != day:
            yield self._fallback / day.name

    def _resume_in(self, folder: Path, at_ns: int) -> bool:
        free = self._free(folder)
        if free is not None and free < LEAST_FREE_BYTES:
            return False
        begun: list[TapeFile] = []

        def begin() -> None:
            notes = {fmt.CONTINUES_NOTE: self._first.name}
            begun.append(self._open(_free_part(folder, self._first.stem), notes))
            for event in self._restated.opening(at_ns):
                begun[0].write(event)
            begun[0].flush()

        if self._try(begin) is not None:  # what is told is why the last file ended, not that there is no next one yet
            for file in begun:
                file.discard()
            return False
        self._room_at_s = float("-inf")
        self._paths = (*self._paths, begun[0].path)
        self._file = begun[0]
        return True

    def _open(self, path: Path, notes: dict[str, str]) -> TapeFile:
        return TapeFile(path, notes={**self._notes, **notes}, on_written=self._restated.note, steady_s=self._steady_s)


def _free_part(folder: Path, stem: str) -> Path:
    try:
        return part_path(folder, stem)
    except OSError as error:
        raise RecorderError(folder, error) from error
