"""One file of a practice being recorded: what has reached the operating system, and what would be lost with this process."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

from sensors.errors import RecorderError
from sensors.events import RawPacket, SourceEvent
from sensors.record.disk_sync import DiskSync
from sensors.record.writer import Recorder, offset_here_s

FLUSH_S: Final = 0.5
"""Nothing waits longer than this in the process, whether or not more comes."""
RENEW_NS: Final = 30_000_000_000


class TapeFile:
    """Used by the writing thread alone. Every method may block as long as the disk does, and raise `RecorderError`."""

    def __init__(
        self,
        path: Path,
        *,
        notes: Mapping[str, str],
        on_written: Callable[[SourceEvent], None],
        steady_s: Callable[[], float],
    ) -> None:
        """Create the file. `on_written` is told of each event once the operating system has it."""
        self.path = path
        self.n_packets = 0
        self.begun_s = steady_s()
        self._steady_s = steady_s
        self._on_written = on_written
        self._recorder = Recorder(path, notes=notes, utc_offset_s=offset_here_s, renew_ns=RENEW_NS)
        self._sync = DiskSync(self._recorder.descriptor, path.parent)
        self._unwritten: list[SourceEvent] = []
        self._since_s: float | None = None

    @property
    def size_bytes(self) -> int:
        """How much the operating system has."""
        return self._recorder.size_bytes

    def wait_s(self) -> float:
        """Seconds until what waits must be flushed."""
        return FLUSH_S if self._since_s is None else max(0.0, self._since_s + FLUSH_S - self._steady_s())

    def write(self, event: SourceEvent) -> None:
        """Record one event."""
        self._unwritten.append(event)
        self._since_s = self._since_s if self._since_s is not None else self._steady_s()
        self._check_sync()
        self._recorder.write(event)
        self.n_packets += isinstance(event, RawPacket)
        self._settle()

    def flush(self, *, if_due: bool = False) -> None:
        """Hand over everything, or only when it has waited long enough."""
        self._check_sync()
        if if_due and (self._since_s is None or self._steady_s() < self._since_s + FLUSH_S):
            return
        self._recorder.flush()
        self._settle()

    def close(self) -> None:
        """Finish the file."""
        self.flush()
        self._recorder.close()
        self._sync.stop()

    def abandon(self) -> list[SourceEvent]:
        """Leave it as it is; gives the events that did not get into it."""
        self._sync.stop()
        self._recorder.abandon()
        return self._unwritten

    def discard(self) -> None:
        """Leave nothing behind."""
        self.abandon()
        with contextlib.suppress(OSError):
            self.path.unlink(missing_ok=True)

    def _check_sync(self) -> None:
        if self._sync.error is not None:
            raise RecorderError(self.path, self._sync.error)

    def _settle(self) -> None:
        if self._recorder.has_unwritten:
            return
        for event in self._unwritten:
            self._on_written(event)
        self._unwritten.clear()
        self._since_s = None
