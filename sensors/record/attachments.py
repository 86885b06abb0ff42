"""Files that travel within a recording: MCAP attachments, which any MCAP tool lists and takes out.

Rule 1: an attachment counts only if its checksum holds.
Rule 2: nothing is read but the attachments themselves: from record to record by their lengths.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Final

from mcap.opcode import Opcode
from mcap.records import Attachment as McapAttachment

from sensors.errors import RecordingError
from sensors.record.reader import read_head
from sensors.record.salvage import LONGEST_RECORD_BYTES, MAGIC, parse_record

MAX_BYTES: Final = LONGEST_RECORD_BYTES - 1024
"""More than this no reader of ours takes for a sound record."""
_HEAD: Final = struct.Struct("<BQ")
_CRC: Final = struct.Struct("<I")


@dataclass(frozen=True, slots=True, kw_only=True)
class Attachment:
    """One file, as it was put in."""

    name: str
    media_type: str
    data: bytes


def read_attachments(path: Path) -> Iterator[Attachment]:
    """Give the sound attachments of a recording one by one, as far as it goes. Raises `RecordingError` as `read_head` does."""
    read_head(path)
    try:
        with path.open("rb") as file:
            yield from _attachments(file)
    except OSError as error:
        raise RecordingError(path, f"it cannot be read ({error.strerror or error})") from error


def _attachments(file: IO[bytes]) -> Iterator[Attachment]:
    size_bytes = file.seek(0, 2)
    position = len(MAGIC)
    while position + _HEAD.size <= size_bytes:
        file.seek(position)
        opcode, length = _HEAD.unpack(file.read(_HEAD.size))
        position += _HEAD.size + length
        if opcode == Opcode.DATA_END or position > size_bytes:
            return
        if opcode != Opcode.ATTACHMENT or not _CRC.size <= length <= LONGEST_RECORD_BYTES:
            continue
        content = file.read(length)
        (crc,) = _CRC.unpack(content[-_CRC.size :])
        record = parse_record(opcode, content) if zlib.crc32(content[: -_CRC.size]) == crc else None
        if isinstance(record, McapAttachment):
            yield Attachment(name=record.name, media_type=record.media_type, data=bytes(record.data))
