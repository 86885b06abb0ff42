"""The file under a recording: whole writes only, straight to the operating system."""

from __future__ import annotations

import contextlib
import errno
import os
from pathlib import Path


class RecordSink:
    """Append-only file that holds whole MCAP records whatever happens.

    Rule 1: nothing waits in this process, so that killing it loses only what was never written here.
    Rule 2: a write that fails half way is taken back, so that the file still ends between two records.
    """

    def __init__(self, path: Path) -> None:
        """Create the file and its folders; raises OSError, `FileExistsError` above all, for nothing is overwritten."""
        path.parent.mkdir(parents=True, exist_ok=True)
        self._path = path
        self._file = path.open("xb", buffering=0)
        self._links_are_counted = os.fstat(self._file.fileno()).st_nlink > 0
        self._size = 0

    def tell(self) -> int:
        """Give the number of bytes written."""
        return self._size

    @property
    def descriptor(self) -> int:
        """The open file as the operating system knows it."""
        return self._file.fileno()

    def write(self, data: bytes) -> int:
        """Append whole records; raises OSError."""
        self._path.stat()  # moved, or its disk unmounted: the system would still take the bytes, to where nobody finds them
        if self._links_are_counted and os.fstat(self._file.fileno()).st_nlink == 0:
            # Deleted under our hands, and another of that name made: the bytes would be forgotten with the last handle.
            raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), str(self._path))
        rest = memoryview(data)
        try:
            while rest:
                rest = rest[self._file.write(rest) or 0 :]
        except OSError:
            with contextlib.suppress(OSError):
                self._file.truncate(self._size)
            raise
        self._size += len(data)
        return len(data)

    def flush(self) -> None:
        """Do nothing: see rule 1."""

    @property
    def closed(self) -> bool:
        """Whether the file has been closed."""
        return self._file.closed

    def close(self) -> None:
        """Close the file; raises OSError when the system only now admits a failure."""
        self._file.close()

    def abandon(self) -> None:
        """Close after a failure; further trouble tells nothing new."""
        with contextlib.suppress(OSError):
            self._file.close()
