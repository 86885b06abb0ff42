"""Writes a recording as it happens.

At most about a second of data is ever unwritten; a failing disk ends the recording and leaves all before it readable.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from types import TracebackType
from typing import IO, Self, cast

import orjson
from mcap.writer import CompressionType, IndexType, Writer

from sensors.errors import RecorderError
from sensors.events import RawPacket, SensorInfo, SourceEvent
from sensors.ids import SensorId
from sensors.record import format as fmt
from sensors.record.attachments import MAX_BYTES, Attachment
from sensors.record.channel import OpenChannel
from sensors.record.sink import RecordSink

CHUNK_BYTES = 4096
"""Two sensors fill a chunk in about 0.6 s. A damaged chunk is lost as a whole, so small is safe; larger saves 3 %."""
FLUSH_NS = 1_000_000_000


def program_version() -> str:
    """Name the version that writes, or 'unknown' in a tree that was never installed."""
    try:
        return version("pitchbend")
    except PackageNotFoundError:
        return "unknown"


def offset_here_s(unix_s: float) -> int | None:
    """How far this computer's own clock is ahead of UTC, at a time in seconds since 1970."""
    offset = datetime.fromtimestamp(unix_s, UTC).astimezone().utcoffset()
    return None if offset is None else round(offset.total_seconds())


class Recorder:
    """Context manager: `with Recorder(path) as recorder: recorder.write(event)`.

    Raises `RecorderError` when the file cannot be made (it exists, no room, no permission), and **once** when writing
    fails later; from then on `failed` is true and further events are let go, so that the practice itself goes on.

    Packets stand uncompressed: zstd would save a quarter (of 24 MB an hour) and cost the reader its simple guards.
    """

    def __init__(
        self,
        path: Path,
        *,
        notes: Mapping[str, str] | None = None,
        wall_clock_ns: Callable[[], int] = time.time_ns,
        utc_offset_s: Callable[[float], int | None] = lambda _: None,
        renew_ns: int | None = None,
    ) -> None:
        """Create the file. `notes` is free text about it, such as where a demo recording comes from.

        `utc_offset_s` says, of a time in seconds since 1970, how far the clocks on the wall were ahead of UTC where the data was
        recorded; None where that is not known.

        With `renew_ns` all channels are named again that often, so that damage to one place hides no sensor for longer.
        """
        self.path = path
        self.failed = False
        self.n_events = 0
        self._notes = notes
        self._wall_clock_ns = wall_clock_ns
        self._utc_offset_s = utc_offset_s
        self._renew_ns = renew_ns
        self._renewed_ns = 0
        self._wall_minus_host_ns = 0
        self._unflushed_since_ns: int | None = None
        self._infos: dict[SensorId, SensorInfo] = {}
        self._packet_channels: dict[SensorId, tuple[SensorInfo | None, OpenChannel]] = {}
        self._events_channel: OpenChannel | None = None
        try:
            self._sink = RecordSink(path)
        except OSError as error:
            raise RecorderError(path, error) from error
        self._writer = Writer(
            cast("IO[bytes]", self._sink),
            chunk_size=CHUNK_BYTES,
            compression=CompressionType.NONE,
            index_types=IndexType.CHUNK | IndexType.METADATA | IndexType.ATTACHMENT,
        )

    @property
    def size_bytes(self) -> int:
        """How much has been handed to the operating system."""
        return self._sink.tell()

    @property
    def has_unwritten(self) -> bool:
        """Whether something still waits in this process: it is lost if the process is killed."""
        return self._unflushed_since_ns is not None

    @property
    def descriptor(self) -> int:
        """The open file, for whoever makes sure that it reaches the disk."""
        return self._sink.descriptor

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, exc_type: type[BaseException] | None, exc: BaseException | None, tb: TracebackType | None
    ) -> None:
        try:
            self.close()
        except RecorderError:
            if exc_type is None:
                raise

    def write(self, event: SourceEvent) -> None:
        """Record one event; order is kept. Raises `RecorderError`, once."""
        if self.failed:
            return
        try:
            self._write(event)
        except OSError as error:
            self._fail(error)
        self.n_events += 1

    def attach(self, attachment: Attachment) -> None:
        """Put a file into the recording, after what was written. Raises `RecorderError`; ValueError when it is too large."""
        if len(attachment.data) > MAX_BYTES:
            raise ValueError(f"{attachment.name} has {len(attachment.data)} bytes; {MAX_BYTES} are the most")
        if self.failed:
            return
        try:
            if self._events_channel is None:
                self._start(0)
            now_ns = self._wall_clock_ns()
            self._writer.add_attachment(
                create_time=now_ns,
                log_time=now_ns,
                name=fmt.clean_text(attachment.name),
                media_type=attachment.media_type,
                data=attachment.data,
            )
        except OSError as error:
            self._fail(error)

    def flush(self) -> None:
        """Hand everything to the operating system. Raises `RecorderError`, once."""
        if self.failed or not self.has_unwritten:
            return
        try:
            self._writer.flush()  # type: ignore[no-untyped-call]  # mcap leaves it without hints
        except OSError as error:
            self._fail(error)
        self._unflushed_since_ns = None

    def abandon(self) -> None:
        """Leave the file as it is: no index, no end mark. What has been written stays readable."""
        if not self.failed:
            self.failed = True
            self._sink.abandon()

    def close(self) -> None:
        """Write index and end mark. Raises `RecorderError` unless an earlier write has already failed."""
        if self.failed or self._sink.closed:
            return
        try:
            if self._events_channel is None:
                self._start(0)
            self._writer.finish()  # type: ignore[no-untyped-call]  # mcap leaves it without hints
            self._sink.close()
        except OSError as error:
            self._fail(error)

    def _fail(self, error: OSError) -> None:
        self.failed = True
        self._sink.abandon()
        raise RecorderError(self.path, error) from error

    def _start(self, host_start_ns: int) -> None:
        wall_start_ns = self._wall_clock_ns()
        self._wall_minus_host_ns = wall_start_ns - host_start_ns
        writer = self._writer
        writer.start(profile=fmt.MCAP_PROFILE, library=f"pitchbend {program_version()}")
        metadata = {
            "format_version": str(fmt.FORMAT_VERSION),
            "program_version": program_version(),
            "created": datetime.fromtimestamp(wall_start_ns / 1e9, UTC).isoformat(timespec="seconds"),
            "wall_start_ns": str(wall_start_ns),
            "host_start_ns": str(host_start_ns),
        }
        utc_offset_s = self._utc_offset_s(wall_start_ns / 1e9)
        if utc_offset_s is not None:
            metadata["utc_offset_s"] = str(utc_offset_s)
        writer.add_metadata(fmt.METADATA_NAME, metadata)
        if self._notes:
            notes = {fmt.clean_text(name): fmt.clean_text(text) for name, text in self._notes.items()}
            writer.add_metadata(fmt.NOTES_NAME, notes)
        schema = writer.register_schema(fmt.EVENTS_SCHEMA_NAME, "jsonschema", orjson.dumps(fmt.events_schema()))
        self._events_channel = OpenChannel(fmt.EVENTS_TOPIC, fmt.EVENTS_ENCODING, schema, {}).named_in(writer)
        self._renewed_ns = host_start_ns

    def _write(self, event: SourceEvent) -> None:
        if self._events_channel is None:
            self._start(event.arrival_ns)
        assert self._events_channel is not None  # noqa: S101  # named when it started
        if self._renew_ns is not None and event.arrival_ns - self._renewed_ns >= self._renew_ns:
            self._rename_all(event.arrival_ns)
        if self._unflushed_since_ns is None:
            self._unflushed_since_ns = event.arrival_ns
        size = self._sink.tell()
        if isinstance(event, RawPacket):
            self._add(self._channel_of(event), event.arrival_ns, event.payload)
            flush = event.arrival_ns - self._unflushed_since_ns >= FLUSH_NS
        else:
            if isinstance(event, SensorInfo):
                self._infos[event.sensor] = event
            self._add(self._events_channel, event.arrival_ns, fmt.event_to_json(event))
            flush = True  # rare and precious; and perhaps nothing follows for a while
        if flush:
            self._writer.flush()  # type: ignore[no-untyped-call]  # mcap leaves it without hints
        if self._sink.tell() != size:
            self._unflushed_since_ns = None

    def _add(self, channel: OpenChannel, arrival_ns: int, data: bytes) -> None:
        self._writer.add_message(
            channel_id=channel.id,
            log_time=arrival_ns + self._wall_minus_host_ns,
            publish_time=arrival_ns,
            data=data,
            sequence=channel.n_messages % 2**32,
        )
        channel.n_messages += 1

    def _channel_of(self, packet: RawPacket) -> OpenChannel:
        """Give the sensor's channel; a sensor that is now worn elsewhere, or speaks otherwise, gets another one."""
        info = self._infos.get(packet.sensor)
        known = self._packet_channels.get(packet.sensor)
        if known is not None and (known[0] == info or _same_wearing(known[0], info)):
            return known[1]
        about = fmt.packet_metadata(packet, info)
        channel = OpenChannel(fmt.packet_topic(packet), fmt.PACKETS_ENCODING, 0, about).named_in(self._writer)
        self._packet_channels[packet.sensor] = (info, channel)
        return channel

    def _rename_all(self, now_ns: int) -> None:
        """Name every channel again; messages go on under the new ids."""
        self._renewed_ns = now_ns
        if self._events_channel is not None:
            self._events_channel.named_in(self._writer)
        for _, channel in self._packet_channels.values():
            channel.named_in(self._writer)


def _same_wearing(a: SensorInfo | None, b: SensorInfo | None) -> bool:
    return (
        a is not None and b is not None and ((a.role, a.profile, a.profile_text) == (b.role, b.profile, b.profile_text))
    )
