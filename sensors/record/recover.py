"""A new, whole recording from what can be saved of damaged ones. The originals are only read.

Several files are the parts of one practice, in order: what a later part restates for its own sake is left out again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Final

from sensors.errors import DamagedHead, NotARecording, RecordingError
from sensors.events import RawPacket, RecordingResumed, SourceEvent
from sensors.ids import SensorId
from sensors.record import format as fmt
from sensors.record.reader import ReadReport, RecordingHead, read_head, salvage_events
from sensors.record.watched import watched
from sensors.record.writer import Recorder

RECOVERED_NOTE: Final = "recovered from"


@dataclass(slots=True, kw_only=True)
class Part:
    """One of the files, and what was found in it."""

    path: Path
    report: ReadReport = field(default_factory=ReadReport)
    head: RecordingHead = field(default_factory=RecordingHead)
    head_was_lost: bool = False
    n_packets: dict[SensorId, int] = field(default_factory=dict)
    first_ns: int | None = None
    last_ns: int = 0

    @property
    def is_clean(self) -> bool:
        """Whether nothing is wrong with it."""
        return self.report.is_clean and not self.head_was_lost


@dataclass(frozen=True, slots=True, kw_only=True)
class Recovery:
    """What was saved. Stamps are of the recording's own steady clock; `wall_minus_host_ns` makes times of day of them."""

    parts: tuple[Part, ...]
    wall_minus_host_ns: int

    @property
    def first_ns(self) -> int:
        """Stamp of the first event saved."""
        return min(part.first_ns for part in self.parts if part.first_ns is not None)

    @property
    def last_ns(self) -> int:
        """Stamp of the last event saved."""
        return max(part.last_ns for part in self.parts)


def recover(
    paths: Sequence[Path], output: Path, *, on_progress: Callable[[int, int], None] = lambda _read, _of: None
) -> Recovery:
    """Write `output`, which must not exist. `on_progress` is told bytes read and bytes of the file.

    Raises `NotARecording` when a file holds nothing of ours, `RecordingError` when it is no part of this practice or
    cannot be read, `RecorderError` when `output` cannot be written.
    """
    parts = [_part(path) for path in paths]
    events = _events_of(parts, on_progress)
    first = next(events, None)
    if first is None:
        raise NotARecording(paths[0], "no piece of a Pitchbend recording is in it")
    offset_ns = parts[0].report.wall_minus_host_ns or 0
    notes = dict(parts[0].head.notes) | {RECOVERED_NOTE: ", ".join(path.name for path in paths)}
    with Recorder(
        output,
        notes=notes,
        wall_clock_ns=lambda: first.arrival_ns + offset_ns,
        utc_offset_s=lambda _: parts[0].head.utc_offset_s,
    ) as recorder:
        recorder.write(first)
        for event in events:
            recorder.write(event)
    return Recovery(parts=tuple(parts), wall_minus_host_ns=offset_ns)


def is_whole(path: Path) -> bool:
    """Whether a recording needs no recovering. Raises `RecordingError` as `recover` does."""
    part = _part(path)
    for _ in salvage_events(path, report=part.report):
        pass
    return part.is_clean


def _part(path: Path) -> Part:
    part = Part(path=path)
    try:
        part.head = read_head(path)
    except DamagedHead:
        part.head_was_lost = True
    return part


def _events_of(parts: Sequence[Part], on_progress: Callable[[int, int], None]) -> Iterator[SourceEvent]:
    before: Part | None = None
    for part in parts:
        events = salvage_events(part.path, report=part.report)
        own = events if before is None else _own_events(events)
        for event in watched(own, partial(_tell, on_progress, part.report)):
            if part.first_ns is None:
                _check_follows(part, event.arrival_ns, before)
                part.first_ns = event.arrival_ns
            part.last_ns = event.arrival_ns
            if isinstance(event, RawPacket):
                part.n_packets[event.sensor] = part.n_packets.get(event.sensor, 0) + 1
            yield event
        if part.first_ns is None:
            raise NotARecording(part.path, "no piece of a Pitchbend recording is in it")
        before = part


def _tell(on_progress: Callable[[int, int], None], report: ReadReport) -> None:
    on_progress(report.read_bytes, report.size_bytes)


def _own_events(events: Iterator[SourceEvent]) -> Iterator[SourceEvent]:
    """Leave out what a part restates: all of one stamp, up to the mark that it resumes."""
    restated: list[SourceEvent] = []
    for event in events:
        is_opening = not restated or event.arrival_ns == restated[0].arrival_ns
        if is_opening and isinstance(event, RecordingResumed):
            break
        restated.append(event)
        if not is_opening:  # the mark was lost: better twice than not at all
            yield from restated
            break
    else:
        yield from restated
    yield from events


def _check_follows(part: Part, first_ns: int, before: Part | None) -> None:
    """Make sure that a later part goes on where the one before stopped, and is not some other practice."""
    if before is None:
        return
    continues = part.head.notes.get(fmt.CONTINUES_NOTE) is not None or part.head_was_lost
    if not continues or first_ns < before.last_ns:
        raise RecordingError(part.path, f"it does not go on where {before.path.name} stops")
