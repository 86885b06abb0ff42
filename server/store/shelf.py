"""Where the swings of practices lie, beside the store: a file a practice, named by its key.

They hold nothing that the recordings do not: what another version made is made anew, what is missing is worked out when
somebody asks.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from fusion.pipeline import Pipeline
from sensors.record.reader import ReadReport, read_events, read_head
from sensors.record.watched import watched
from server.analysis.host_clock import HostClock
from server.drills import default_drill
from server.store.database import Database, default_path
from server.store.swings import SwingRows, SwingsFile, is_current, read_swing, swings_file
from server.whole_file import remove_quietly


class Shelf:
    """A folder of swings files. Nothing is touched before something is put there."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    @staticmethod
    def of(database: Database) -> Shelf:
        """Beside the file of a store; for a server's, in this user's data folder."""
        if database.is_file:
            return Shelf(Path(f"{database.name}.swings"))
        return Shelf(default_path().parent / "swings")

    def has(self, key: str) -> bool:
        """Whether the swings of a practice are there, as this program works them out."""
        return is_current(self._path(key))

    def is_newer_than(self, key: str, recording: Path) -> bool:
        """Whether a practice's swings were worked out after its recording was last written to. Raises OSError."""
        return self._path(key).stat().st_mtime_ns >= recording.stat().st_mtime_ns

    def read(self, key: str, number: int) -> SwingRows | None:
        """Read one swing; None when it is not among them. Raises OSError."""
        return read_swing(self._path(key), number)

    @contextlib.contextmanager
    def filing(self, clock: HostClock) -> Iterator[Filing]:
        """Write a file whose practice is not known yet; it is gone at the end unless it was put in place. Raises OSError."""
        self.folder.mkdir(parents=True, exist_ok=True)
        part = self.folder / f".{os.getpid()}.{id(clock):x}.part"
        try:
            with swings_file(part, clock) as swings:
                filing = Filing(part, swings)
                yield filing
            if filing.key:
                part.replace(self._path(filing.key))
        finally:
            remove_quietly(part)

    def forget(self, keys: Iterable[str]) -> None:
        """Delete these practices' files. Raises OSError."""
        for key in keys:
            self._path(key).unlink(missing_ok=True)

    def _path(self, key: str) -> Path:
        return self.folder / f"{key}.parquet"


class Filing:
    """A file being written. `key` puts it into its place once it is whole."""

    def __init__(self, part: Path, swings: SwingsFile) -> None:
        self.part = part
        self.swings = swings
        self.key = ""


def work_out(shelf: Shelf, key: str, recording: Path, report: Callable[[ReadReport], None]) -> None:
    """Work out the swings of a practice from its recording. Raises `SensorsError`, or OSError when the disk fails."""
    clock = HostClock(read_head(recording).notes)
    reading = ReadReport()
    pipeline = Pipeline(default_drill(), series=True)
    with shelf.filing(clock) as filing:
        for event in watched(read_events(recording, report=reading), lambda: report(reading)):
            filing.swings.push(event, pipeline.push(event))
        filing.swings.take(pipeline.close())
        filing.key = key
