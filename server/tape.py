"""The recording of a practice, if there is one. A disk that fails ends the recording and never the practice."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from pathlib import Path

from sensors.errors import RecorderError
from sensors.events import RawPacket, SourceEvent
from sensors.record.writer import Recorder

_log = logging.getLogger(__name__)


class Tape:
    """Writes to `path`, or nowhere when it is None; `notes` is free text about the recording.

    Raises `RecorderError` only when the file cannot be begun.
    """

    def __init__(self, path: Path | None, *, notes: Mapping[str, str] | None = None) -> None:
        self._recorder = None if path is None else Recorder(path, notes=notes)
        self._n_packets = 0

    @property
    def path(self) -> Path | None:
        """Where it is being recorded now; None once that has failed or was not asked for."""
        if self._recorder is None or self._recorder.failed:
            return None
        return self._recorder.path

    def write(self, event: SourceEvent) -> RecorderError | None:
        """Record one event; gives the error when this is the write that failed."""
        if self._recorder is None:
            return None
        self._n_packets += isinstance(event, RawPacket)
        try:
            self._recorder.write(event)
        except RecorderError as error:
            _log.warning("recording stopped: %s", error)
            return error
        return None

    def close(self) -> RecorderError | None:
        """Finish the file. A practice in which no sensor ever sent leaves none behind."""
        recorder = self._recorder
        if recorder is None or recorder.failed:
            return None
        try:
            recorder.close()
        except RecorderError as error:
            _log.warning("the recording could not be finished: %s", error)
            return error
        if not self._n_packets:
            self._recorder = None
            try:
                recorder.path.unlink(missing_ok=True)
            except OSError:
                _log.warning("the empty recording %s could not be removed", recorder.path)
        return None
