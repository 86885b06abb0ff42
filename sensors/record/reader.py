"""Reads a recording back as the very events that were written, in order, in memory that does not grow with it."""

from __future__ import annotations

import re
from collections.abc import Generator, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import IO

from mcap.records import Channel, Chunk, DataEnd, Header, McapRecord, Message, Metadata

from sensors.errors import DamagedHead, NotARecording, RecordingError, UnsupportedRecording
from sensors.events import RawPacket, SensorInfo, SourceEvent
from sensors.ids import Role, SensorId
from sensors.record import format as fmt
from sensors.record.report import ReadReport
from sensors.record.salvage import MAGIC, Damage, chunk_records, later_channels, salvage_records, summary_channels

__all__ = ["Place", "ReadReport", "RecordingHead", "Reel", "read_events", "read_head", "salvage_events"]


_DAY_S = 86_400


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordingHead:
    """What a recording says about itself, before any event. Empty where that part is damaged."""

    program_version: str = ""
    created: str = ""
    """Date and time in UTC, ISO 8601."""
    notes: Mapping[str, str] = field(default_factory=dict)
    host_start_ns: int | None = None
    """Stamp of the first event."""
    wall_start_ns: int | None = None
    """The wall clock then, nanoseconds since 1970."""

    utc_offset_s: int | None = None
    """How far the clocks on the wall were ahead of UTC where it was recorded; None in one that does not say."""

    @property
    def wall_minus_host_ns(self) -> int | None:
        """What tells the messages of this recording from those of any other."""
        if self.wall_start_ns is None or self.host_start_ns is None:
            return None
        return self.wall_start_ns - self.host_start_ns


def read_head(path: Path) -> RecordingHead:
    """Make sure that this is a recording of ours. Raises `NotARecording`, `UnsupportedRecording` or `RecordingError`."""
    with _opened(path) as file:
        return _head(path, file)


def read_events(path: Path, *, report: ReadReport | None = None) -> Generator[SourceEvent]:
    """Check the file at once (raises as `read_head`), then yield its events; damage is left out and goes to `report`."""
    head = read_head(path)
    return _events(path, report if report is not None else ReadReport(), head)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where in a recording reading has come to, and all that was learnt on the way."""

    position: int
    """Where the record begins that holds the next event, or damage before it."""
    n_given: int
    """Events from there on that have been given already."""
    channels: Mapping[int, Channel]
    rest_was_asked: bool
    introduced: frozenset[SensorId]
    last_ns: int | None
    after_damage: bool
    n_damaged_chunks: int
    wall_minus_host_ns: int | None


Step = tuple[Place, int]
"""Where the chunk begins that holds the next event, and how many of its events have been given."""


class Reel:
    """The events of a recording one by one, from its beginning or from any `Place` that another reel of it has been at.

    Making one raises as `read_head`. `close` it; what damage there is goes to `report`.
    """

    def __init__(self, path: Path, place: Place | None = None) -> None:
        head = read_head(path)
        self.report = ReadReport(wall_minus_host_ns=head.wall_minus_host_ns)
        self._file = _opened(path)
        self.report.size_bytes = self._file.seek(0, 2)
        self._reading = _Reading(self._file, self.report, head.host_start_ns, place)
        self._events = self._reading.events()
        for _ in range(place.n_given if place is not None else 0):
            self.next()

    def next(self) -> SourceEvent | None:
        """Give the next event; None at the end, and where the file can be read no further."""
        try:
            event = next(self._events, None)
        except OSError:
            self.report.truncated = True
            return None
        self._reading.n_given += event is not None
        return event

    @property
    def step(self) -> Step:
        """Where it is now, in short: what costs nothing to note before each event. See `place_of`."""
        return self._reading.chunk_end, self._reading.n_given

    @staticmethod
    def place_of(step: Step) -> Place:
        """Where the reel was at a step."""
        return replace(step[0], n_given=step[1])

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()


def salvage_events(path: Path, *, report: ReadReport) -> Generator[SourceEvent]:
    """Like `read_events`, but for a file whose beginning may be destroyed: whatever sound pieces of ours there are.

    Raises `RecordingError` at once when the beginning is whole and shows that it is something else.
    """
    head = RecordingHead()
    with suppress(DamagedHead):  # no word on whose it is then: its pieces will tell
        head = read_head(path)
    return _events(path, report, head)


def _opened(path: Path) -> IO[bytes]:
    try:
        return path.open("rb")
    except FileNotFoundError:
        raise NotARecording(path, "there is no such file") from None
    except PermissionError as error:
        if path.is_dir():  # what Windows says of a folder
            raise NotARecording(path, "it is a folder") from None
        raise RecordingError(path, "this user may not read it") from error
    except IsADirectoryError:
        raise NotARecording(path, "it is a folder") from None
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have
        raise RecordingError(path, f"it cannot be opened ({error})") from error


def _head(path: Path, file: IO[bytes]) -> RecordingHead:
    try:
        magic = file.read(len(MAGIC))
        if not magic:
            raise NotARecording(path, "it is empty")
        if magic != MAGIC:
            raise DamagedHead(path, "it is not a Pitchbend recording")
        return _checked_head(path, salvage_records(file))
    except OSError as error:
        raise RecordingError(path, f"it cannot be read ({error.strerror or error})") from error


def _checked_head(path: Path, records: Iterator[McapRecord | Damage]) -> RecordingHead:
    header = next(records, None)
    if header is None:
        raise NotARecording(path, "it was cut off before anything was recorded")
    if not isinstance(header, Header):
        raise DamagedHead(path, "its beginning is damaged")
    if header.profile != fmt.MCAP_PROFILE:
        raise NotARecording(path, "it is an MCAP file of another program")
    about: Mapping[str, str] = {}
    notes: Mapping[str, str] = {}
    for record in records:
        if not isinstance(record, Metadata):
            if isinstance(record, Chunk) and record.compression:
                raise UnsupportedRecording(path, "another program has compressed it, and this one reads it only plain")
            break
        if record.name == fmt.METADATA_NAME:
            about = record.metadata
        elif record.name == fmt.NOTES_NAME:
            notes = record.metadata
    version = about.get("format_version", "")
    if version.isdecimal() and int(version[:9]) > fmt.FORMAT_VERSION:
        raise UnsupportedRecording(path, "it was made by a newer version of Pitchbend")
    return RecordingHead(
        program_version=about.get("program_version", ""),
        created=about.get("created", ""),
        notes=notes,
        host_start_ns=_whole(about.get("host_start_ns", "")),
        wall_start_ns=_whole(about.get("wall_start_ns", "")),
        utc_offset_s=_offset(about.get("utc_offset_s", "")),
    )


def _offset(text: str) -> int | None:
    seconds = _whole(text)
    return seconds if seconds is not None and abs(seconds) < _DAY_S else None


def _whole(text: str) -> int | None:
    return int(text) if re.fullmatch(r"-?\d{1,20}", text, re.ASCII) else None


def _events(path: Path, report: ReadReport, head: RecordingHead) -> Generator[SourceEvent]:
    with _opened(path) as file:
        try:
            report.size_bytes = file.seek(0, 2)
            report.wall_minus_host_ns = head.wall_minus_host_ns
            yield from _Reading(file, report, head.host_start_ns).events()
        except OSError:  # the stick was pulled out, or the disk has a bad spot: what came until here stands
            report.truncated = True


class _Reading:
    def __init__(self, file: IO[bytes], report: ReadReport, start_ns: int | None, place: Place | None = None) -> None:
        self._file = file
        self._report = report
        self._channels: dict[int, Channel] = {}
        self._rest_was_asked = False
        self._introduced: set[SensorId] = set()
        self._last_ns = start_ns
        self._after_damage = False
        if place is not None:
            self._channels.update(place.channels)
            self._rest_was_asked = place.rest_was_asked
            self._introduced.update(place.introduced)
            self._last_ns, self._after_damage = place.last_ns, place.after_damage
            report.n_damaged_chunks, report.wall_minus_host_ns = place.n_damaged_chunks, place.wall_minus_host_ns
        self.n_given = 0
        """Events given since the last whole chunk; counted by who takes them."""
        self.chunk_end = self._place_at(len(MAGIC) if place is None else place.position)

    def _place_at(self, position: int) -> Place:
        return Place(
            position=position, n_given=0, channels=dict(self._channels), rest_was_asked=self._rest_was_asked,
            introduced=frozenset(self._introduced), last_ns=self._last_ns, after_damage=self._after_damage,
            n_damaged_chunks=self._report.n_damaged_chunks, wall_minus_host_ns=self._report.wall_minus_host_ns,
        )  # fmt: skip

    def events(self) -> Iterator[SourceEvent]:
        report = self._report
        record: McapRecord | Damage | None = None
        for record in salvage_records(self._file, self.chunk_end.position):
            report.read_bytes = self._file.tell()
            if isinstance(record, Damage):
                self._damaged()
            elif isinstance(record, Chunk):
                contents = None if record.compression else chunk_records(record)
                if contents is None:
                    self._damaged()
                else:
                    yield from self._chunk(contents)
                    self.chunk_end, self.n_given = self._place_at(report.read_bytes), 0
        report.read_bytes = report.size_bytes
        # A file may end without its end mark, if the mark alone is damaged; nothing is missing then.
        report.truncated = not isinstance(record, DataEnd) and not self._ends_properly()

    def _ends_properly(self) -> bool:
        self._file.seek(max(0, self._report.size_bytes - len(MAGIC)))
        return self._file.read() == MAGIC

    def _damaged(self) -> None:
        self._report.n_damaged_chunks += 1
        self._after_damage = True

    def _is_foreign(self, contents: list[McapRecord]) -> bool:
        """Whether a sound chunk is of another recording: no two share the nanosecond between their clocks."""
        stamps = [record.log_time - record.publish_time for record in contents if isinstance(record, Message)]
        if stamps and self._report.wall_minus_host_ns is None:
            self._report.wall_minus_host_ns = stamps[0]
        return any(stamp != self._report.wall_minus_host_ns for stamp in stamps)

    def _chunk(self, contents: list[McapRecord]) -> Iterator[SourceEvent]:
        if self._is_foreign(contents):
            self._report.n_foreign_chunks += 1
            self._damaged()
            return
        for record in contents:
            if isinstance(record, Channel):
                self._channels[record.id] = record
            elif isinstance(record, Message):
                event = self._event(record)
                if event is None:
                    continue
                if self._after_damage:
                    self._after_damage = False
                    if self._last_ns is not None:
                        self._report.note_loss(self._last_ns, event.arrival_ns)
                self._last_ns = event.arrival_ns
                if isinstance(event, RawPacket):
                    yield from self._introduction(event, self._channels[record.channel_id])
                elif isinstance(event, SensorInfo):
                    self._introduced.add(event.sensor)
                yield event

    def _event(self, message: Message) -> SourceEvent | None:
        channel = self._channel(message.channel_id)
        if channel is None:
            return self._event_by_itself(message)
        if channel.message_encoding == fmt.PACKETS_ENCODING and "sensor" in channel.metadata:
            sensor = SensorId(channel.metadata["sensor"])
            return RawPacket(arrival_ns=message.publish_time, sensor=sensor, payload=message.data)
        if channel.topic != fmt.EVENTS_TOPIC or channel.message_encoding != fmt.EVENTS_ENCODING:
            self._report.n_unknown_messages += 1
            return None
        try:
            return fmt.event_from_json(message.data, message.publish_time)
        except fmt.UnknownEvent:
            self._report.n_unknown_messages += 1
        except fmt.MalformedEvent:
            self._report.n_malformed += 1
        return None

    def _event_by_itself(self, message: Message) -> SourceEvent | None:
        """Read a message whose channel is lost: an event's text says what it is, a packet's bytes do not say whose."""
        try:
            return fmt.event_from_json(message.data, message.publish_time)
        except (fmt.UnknownEvent, fmt.MalformedEvent):
            self._report.n_unknown_messages += 1
            return None

    def _channel(self, channel_id: int) -> Channel | None:
        """Look a channel up; one that was lost with its chunk is named again later on, and at a finished recording's end."""
        if channel_id not in self._channels and not self._rest_was_asked:
            self._rest_was_asked = True
            position = self._file.tell()
            renewed = {id_: channel for channel in later_channels(self._file, position) for id_ in _renews(channel)}
            self._channels = renewed | summary_channels(self._file, self._report.size_bytes) | self._channels
            self._file.seek(position)
        return self._channels.get(channel_id)

    def _introduction(self, packet: RawPacket, channel: Channel) -> Iterator[SensorInfo]:
        """Restore a sensor's introduction from its channel, when damage took it: without it no packet can be read."""
        about = channel.metadata
        if packet.sensor in self._introduced or not self._report.n_damaged_chunks:
            return
        self._introduced.add(packet.sensor)
        if about.get("role") not in tuple(Role) or "profile" not in about:
            return
        self._report.n_reintroduced += 1
        yield SensorInfo(
            arrival_ns=packet.arrival_ns,
            sensor=packet.sensor,
            role=Role(about["role"]),
            profile=about["profile"],
            name=about.get("name", ""),
            firmware=about.get("firmware", ""),
            profile_text=about.get("profile_text", ""),
        )


def _renews(channel: Channel) -> list[int]:
    """Ids of the earlier channels that a channel stands for."""
    return [int(text) for text in channel.metadata.get(fmt.RENEWS, "").split(",") if text.isdecimal()]
