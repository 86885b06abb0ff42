"""MCAP records out of a file that may be cut or damaged anywhere. The `mcap` library parses; this finds the records.

Rule 1: a chunk counts only if its checksum holds, so no changed byte ever comes out as data.
Rule 2: after damage, reading goes on at the next place where a sound chunk begins, even if lengths were destroyed.
Rule 3: at most one record is in memory.
"""

from __future__ import annotations

import re
import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import IO, Final, Protocol

from mcap import records as mcap_records
from mcap.data_stream import ReadDataStream
from mcap.exceptions import McapError
from mcap.opcode import Opcode
from mcap.records import Channel, Chunk, DataEnd, Footer, McapRecord, Message
from mcap.writer import MCAP0_MAGIC

MAGIC: Final = MCAP0_MAGIC
LONGEST_RECORD_BYTES: Final = 16 * 2**20
"""Ours are some 4 kB; more than this is a damaged length, not worth the memory to find out."""
_LONGEST_SUMMARY_BYTES: Final = 64 * 2**20
_RECORD_HEAD = struct.Struct("<BQ")
_CHUNK_HEAD = struct.Struct("<BQQQQIIQ")
"""Opcode, record length, start time, end time, uncompressed size, checksum, length of compression name (0), data size."""
_MESSAGE_HEAD = struct.Struct("<HIQQ")
"""Channel, sequence, log time, publish time."""
_MESSAGE: Final = int(Opcode.MESSAGE)
_BESIDE_MESSAGES: Final = (int(Opcode.CHANNEL), int(Opcode.SCHEMA))
_CHUNK_HEAD_REST_BYTES = _CHUNK_HEAD.size - _RECORD_HEAD.size
_FOOTER_BYTES = _RECORD_HEAD.size + 20
_CHUNK_START = re.compile(rb"(?=\x06...\x00{5})", re.DOTALL)
_BLOCK_BYTES = 64 * 1024
_UNREADABLE = (McapError, struct.error, ValueError, OverflowError, MemoryError)


class _Readable(Protocol):
    @staticmethod
    def read(stream: ReadDataStream) -> McapRecord: ...


_TYPES: Final[dict[int, _Readable]] = {
    Opcode.HEADER: mcap_records.Header,
    Opcode.FOOTER: mcap_records.Footer,
    Opcode.SCHEMA: mcap_records.Schema,
    Opcode.CHANNEL: mcap_records.Channel,
    Opcode.CHUNK: mcap_records.Chunk,
    Opcode.MESSAGE_INDEX: mcap_records.MessageIndex,
    Opcode.CHUNK_INDEX: mcap_records.ChunkIndex,
    Opcode.ATTACHMENT: mcap_records.Attachment,
    Opcode.ATTACHMENT_INDEX: mcap_records.AttachmentIndex,
    Opcode.STATISTICS: mcap_records.Statistics,
    Opcode.METADATA: mcap_records.Metadata,
    Opcode.METADATA_INDEX: mcap_records.MetadataIndex,
    Opcode.SUMMARY_OFFSET: mcap_records.SummaryOffset,
    Opcode.DATA_END: mcap_records.DataEnd,
}
"""All but MESSAGE: outside a chunk no checksum would guard it."""


@dataclass(frozen=True, slots=True)
class Damage:
    """Bytes that are no sound record; reading goes on after them."""


def salvage_records(file: IO[bytes], position: int = len(MAGIC)) -> Iterator[McapRecord | Damage]:
    """Yield the records of the data section after the magic; stops after `DataEnd`, or where nothing sound follows."""
    while True:
        file.seek(position)
        head = file.read(_RECORD_HEAD.size)
        if len(head) < _RECORD_HEAD.size:
            return
        opcode, length = _RECORD_HEAD.unpack(head)
        is_plausible = opcode in _TYPES and length <= LONGEST_RECORD_BYTES
        content = file.read(length) if is_plausible else b""
        is_cut = is_plausible and len(content) < length
        record = parse_record(opcode, content) if is_plausible and not is_cut else None
        if record is not None:
            position += _RECORD_HEAD.size + length
            yield record
            if isinstance(record, DataEnd):
                return
            continue
        found = _find_chunk(file, position + 1)
        if found is None and is_cut:
            return  # merely cut off here, as far as anyone can tell
        yield Damage()
        if found is None:
            return
        position = found


def parse_record(opcode: int, content: bytes) -> McapRecord | None:
    """Parse one record; None unless its parts fill it exactly and, for a chunk, its checksum holds."""
    stream = ReadDataStream(BytesIO(content))
    try:
        record = _TYPES[opcode].read(stream)
    except _UNREADABLE:
        return None
    if stream.count != len(content):
        return None
    if isinstance(record, Chunk) and not record.compression and zlib.crc32(record.data) != record.uncompressed_crc:
        return None
    return record


def later_channels(file: IO[bytes], position: int) -> Iterator[Channel]:
    """Give every channel that is named in sound chunks from `position` on."""
    file.seek(position)
    for record in salvage_records(file, position):
        if isinstance(record, Chunk) and not record.compression:
            yield from (one for one in chunk_records(record) or () if isinstance(one, Channel))


def chunk_records(chunk: Chunk) -> list[McapRecord] | None:
    """Give what a sound chunk holds; None when whoever wrote it wrote nonsense.

    Messages, which are nearly all of it, are taken apart here: the library takes four times as long.
    """
    data, position = chunk.data, 0
    records: list[McapRecord] = []
    try:
        while position < len(data):
            opcode, length = _RECORD_HEAD.unpack_from(data, position)
            start, position = position + _RECORD_HEAD.size, position + _RECORD_HEAD.size + length
            if position > len(data):
                return None
            if opcode == _MESSAGE:
                channel_id, sequence, log_time, publish_time = _MESSAGE_HEAD.unpack_from(data, start)
                content = data[start + _MESSAGE_HEAD.size : position]
                records.append(Message(channel_id, log_time, content, publish_time, sequence))
            elif opcode in _BESIDE_MESSAGES:
                records.append(_TYPES[opcode].read(ReadDataStream(BytesIO(data[start:position]))))
    except _UNREADABLE:
        return None
    return records


def _find_chunk(file: IO[bytes], start: int) -> int | None:
    """Find where the next sound chunk begins."""
    offset = start
    overlap = _CHUNK_HEAD.size
    while True:
        file.seek(offset)
        block = file.read(_BLOCK_BYTES + overlap)
        for match in _CHUNK_START.finditer(block):
            if match.start() >= _BLOCK_BYTES:
                break
            position = offset + match.start()
            if _is_sound_chunk(file, position):
                return position
        if len(block) <= overlap:
            return None
        offset += _BLOCK_BYTES


def _is_sound_chunk(file: IO[bytes], position: int) -> bool:
    """Check the cheap relations first, so that look-alikes cost no reading."""
    file.seek(position)
    head = file.read(_CHUNK_HEAD.size)
    if len(head) < _CHUNK_HEAD.size:
        return False
    _, length, _, _, uncompressed_size, crc, compression_length, data_size = _CHUNK_HEAD.unpack(head)
    if compression_length or uncompressed_size != data_size or length != _CHUNK_HEAD_REST_BYTES + data_size:
        return False
    if length > LONGEST_RECORD_BYTES:
        return False
    data = file.read(data_size)
    return bool(zlib.crc32(data) == crc) and len(data) == data_size


def summary_channels(file: IO[bytes], size_bytes: int) -> dict[int, Channel]:
    """Give the channels that the end of the file repeats; none when the end is missing or damaged."""
    tail_bytes = _FOOTER_BYTES + len(MAGIC)
    if size_bytes < tail_bytes:
        return {}
    file.seek(size_bytes - tail_bytes)
    tail = file.read(tail_bytes)
    footer = parse_record(tail[0], tail[_RECORD_HEAD.size : _FOOTER_BYTES]) if tail[0] == Opcode.FOOTER else None
    if not isinstance(footer, Footer) or not tail.endswith(MAGIC):
        return {}
    length = size_bytes - tail_bytes - footer.summary_start
    if not 0 < length <= _LONGEST_SUMMARY_BYTES:
        return {}
    file.seek(footer.summary_start)
    summary = file.read(length)
    if zlib.crc32(tail[: _FOOTER_BYTES - 4], zlib.crc32(summary)) != footer.summary_crc:
        return {}
    return {record.id: record for record in _records_of(summary) if isinstance(record, Channel)}


def _records_of(data: bytes) -> Iterator[McapRecord | None]:
    position = 0
    while position + _RECORD_HEAD.size <= len(data):
        opcode, length = _RECORD_HEAD.unpack_from(data, position)
        position += _RECORD_HEAD.size
        if opcode in _TYPES:
            yield parse_record(opcode, data[position : position + length])
        position += length
