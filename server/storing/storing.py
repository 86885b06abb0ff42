"""Sees to it that what is recorded comes into the store: one recording after the other, never in the way of a practice.

Rule 1: `expect` a recording when it is begun, and tell what it gives when it is closed; `finish` at the end of everything.
Rule 2: whatever goes wrong is one sentence at the end. The recording is whole by then, and is taken up at the next start.
"""

from __future__ import annotations

import contextlib
import subprocess
import threading
from collections.abc import Callable, Iterable
from pathlib import Path
from queue import SimpleQueue
from typing import Final

from sensors.record.background import TapeStatus
from server.storing import order, waiting
from server.storing.order import Told
from server.storing.words import LEFT_FOR_LATER, WORKING, told_sentences

LEFT_BEHIND_AFTER_S: Final = 20.0
"""What an earlier start left behind is taken up when this one has come up."""

Work = Callable[[str | None, tuple[Path, ...], Callable[["subprocess.Popen[bytes]"], None]], Told]


class Storing:
    """`store` is the store's place, None for the default. `folder`, `after_s` and `do` are for tests."""

    def __init__(
        self,
        store: str | None = None,
        *,
        folder: Path | None = None,
        after_s: float = LEFT_BEHIND_AFTER_S,
        do: Work | None = None,
    ) -> None:
        self._store = store
        self._folder = folder
        self._after_s = after_s
        self._do = do or order.work
        self._jobs: SimpleQueue[waiting.Note | None] = SimpleQueue()
        self._ending = threading.Event()
        self._given_up = threading.Event()
        self._process: subprocess.Popen[bytes] | None = None
        self._told: list[str] = []
        self._thread = threading.Thread(target=self._run, name="storing", daemon=True)

    def begin(self) -> None:
        """Take up, in a while, what was left behind, and be ready for more."""
        self._thread.start()

    def expect(self, recording: Path) -> Callable[[TapeStatus], None]:
        """A recording is begun; gives what is to be told when it is closed."""
        note = waiting.note(recording, self._folder)

        def closed(status: TapeStatus) -> None:
            if not status.paths:  # nobody sent anything, and no file was left
                note.done()
            elif status.stalled_s > 0.0:  # the disk does not answer
                note.release()
            else:
                note.recordings = status.paths
                self._jobs.put(note)

        return closed

    def finish(self, tell: Callable[[str], None]) -> None:
        """Wait until all is in the store; Ctrl-C leaves it for the next start. Says what a person should know."""
        if not self._thread.is_alive():
            return
        if self._process is not None or not self._jobs.empty():
            tell(WORKING)
        self._ending.set()
        self._jobs.put(None)
        try:
            self._thread.join()
        except KeyboardInterrupt:
            self._give_up()
            self._told.append(LEFT_FOR_LATER)
        for sentence in self._told:
            tell(sentence)

    def _give_up(self) -> None:
        self._given_up.set()
        process = self._process
        if process is not None:
            process.terminate()
        self._thread.join(timeout=2.0)

    def _run(self) -> None:
        self._ending.wait(self._after_s)
        for note in waiting.left_behind(self._folder):
            self._put(note)
        while (job := self._jobs.get()) is not None:
            self._put(job)

    def _put(self, note: waiting.Note) -> None:
        if self._given_up.is_set():
            note.release()
            return
        told = self._do(self._store, note.recordings, self._started)
        self._process = None
        if self._given_up.is_set():
            note.release()
            return
        for sentence in told_sentences(told):
            if sentence not in self._told:
                self._told.append(sentence)
        if told.trouble or told.broken:
            note.release()
        else:
            note.done()

    def _started(self, process: subprocess.Popen[bytes]) -> None:
        self._process = process
        if self._given_up.is_set():
            with contextlib.suppress(OSError):
                process.terminate()


def begin_all(storings: Iterable[Storing | None]) -> tuple[Storing, ...]:
    """Begin those of several practices, each once."""
    begun = tuple(dict.fromkeys(one for one in storings if one is not None))
    for one in begun:
        one.begin()
    return begun
