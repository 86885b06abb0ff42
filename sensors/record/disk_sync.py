"""Makes sure that what was written reaches the disk itself, so that a power cut loses little more than a kill does.

A thread of its own: a disk that takes long over this holds up neither the next write nor anything live.
"""

from __future__ import annotations

import contextlib
import os
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Final

SYNC_S: Final = 1.0
_sync_file: Final[Callable[[int], None]] = getattr(os, "fdatasync", os.fsync)
"""`fdatasync` spares the time stamps. Where there is none (macOS, Windows) `fsync` is what there is."""


class DiskSync:
    """Syncs an open file every second until `stop`."""

    def __init__(
        self, descriptor: int, folder: Path, *, every_s: float = SYNC_S, sync: Callable[[int], None] = _sync_file
    ) -> None:
        self.error: OSError | None = None
        """Why the system could not put it on the disk; then this has ended."""
        self.n_syncs = 0
        self._descriptor = os.dup(descriptor)  # the writer may close its own at any time
        self._folder = folder
        self._every_s = every_s
        self._sync = sync
        self._stop = threading.Event()
        threading.Thread(target=self._run, name="recording sync", daemon=True).start()

    def stop(self) -> None:
        """End soon. Does not wait: the disk may hang."""
        self._stop.set()

    def _run(self) -> None:
        try:
            _sync_folder(self._folder)
            while not self._stop.wait(self._every_s):
                self._sync(self._descriptor)
                self.n_syncs += 1
        except OSError as error:
            self.error = error
        finally:
            with contextlib.suppress(OSError):
                os.close(self._descriptor)


def _sync_folder(folder: Path) -> None:
    """Make the file's name itself last, where a folder can be opened for that (not on Windows)."""
    with contextlib.suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
