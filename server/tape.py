"""The recording of a practice, if there is one. A disk that fails ends the recording and never the practice."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from sensors.events import SourceEvent
from sensors.record.background import BackgroundRecorder, TapeStatus


class Tape:
    """Writes to `path`, or nowhere when it is None; goes on in `fallback` when that place is gone. `notes` is free text about it.

    `on_closed` is told once, when the recording is closed. Raises `RecorderError` only when the file cannot be begun.
    """

    def __init__(
        self,
        path: Path | None,
        *,
        fallback: Path | None = None,
        notes: Mapping[str, str] | None = None,
        on_closed: Callable[[TapeStatus], None] = lambda _: None,
    ) -> None:
        self._recorder = None if path is None else BackgroundRecorder(path, fallback=fallback, notes=notes)
        self._last = TapeStatus()
        self._on_closed = on_closed

    @property
    def status(self) -> TapeStatus:
        """How it fares; all empty when nothing is recorded."""
        return self._last if self._recorder is None else self._recorder.status

    @property
    def is_on(self) -> bool:
        """Whether this practice is recorded at all."""
        return self._recorder is not None

    def write(self, event: SourceEvent) -> None:
        """Record one event; never waits."""
        if self._recorder is not None:
            self._recorder.write(event)

    def close(self) -> TapeStatus:
        """Finish. A practice in which no sensor ever sent leaves no file behind."""
        if self._recorder is not None:
            self._last = self._recorder.close()
            self._recorder = None
            self._on_closed(self._last)
        return self._last
