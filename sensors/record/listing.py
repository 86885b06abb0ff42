"""What recordings there are in a folder: enough of each to know it again, without reading it all."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from mcap.exceptions import McapError
from mcap.reader import make_reader

from sensors.errors import RecordingError
from sensors.events import PlayerSet
from sensors.record import format as fmt
from sensors.record.reader import ReadReport, read_events, read_head


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """One file."""

    path: Path
    size_bytes: int
    changed_s: float
    """When it was written to last, seconds since 1970."""
    created: str = ""
    player: str = ""
    duration_s: float | None = None
    """None when it can be read no further than its head."""
    is_finished: bool = True
    """False when it was cut off, or is being recorded at this moment."""
    continues: str = ""
    """Name of the file that it goes on from."""
    problem: str = ""
    """Why it cannot be read; a clause."""


def recordings_in(folder: Path) -> list[Path]:
    """Every .mcap file in the folder and those in it, newest first by name: names begin with day and time."""
    return sorted(folder.rglob("*.mcap"), key=lambda path: path.name, reverse=True)


def listed(path: Path) -> Listed:
    """Look at one file. Raises OSError when it is gone meanwhile."""
    about = path.stat()
    size_bytes, changed_s = about.st_size, about.st_mtime
    try:
        head = read_head(path)
        player = _player(path)
        seconds = _finished_duration_s(path)
        is_finished = seconds is not None
        if seconds is None:
            seconds = _read_duration_s(path)
    except RecordingError as error:
        return Listed(path=path, size_bytes=size_bytes, changed_s=changed_s, problem=error.problem)
    return Listed(
        path=path,
        size_bytes=size_bytes,
        changed_s=changed_s,
        created=head.created,
        player=player,
        duration_s=seconds,
        is_finished=is_finished,
        continues=head.notes.get(fmt.CONTINUES_NOTE, ""),
    )


def _player(path: Path) -> str:
    """The first event says who swings; a few others may stand before it in imported data."""
    events = read_events(path)
    try:
        first = (event for _, event in zip(range(8), events, strict=False) if isinstance(event, PlayerSet))
        return next((event.name for event in first), "")
    finally:
        events.close()


def _finished_duration_s(path: Path) -> float | None:
    """From the statistics at the end of a finished file; None without them."""
    with path.open("rb") as file:
        try:
            summary = make_reader(file).get_summary()
        except (McapError, ValueError, OverflowError, MemoryError):
            return None
        statistics = None if summary is None else summary.statistics
    return None if statistics is None else (statistics.message_end_time - statistics.message_start_time) * 1e-9


def _read_duration_s(path: Path) -> float | None:
    first_ns = last_ns = None
    for event in read_events(path, report=ReadReport()):
        first_ns = event.arrival_ns if first_ns is None else first_ns
        last_ns = event.arrival_ns
    return None if first_ns is None or last_ns is None else (last_ns - first_ns) * 1e-9
