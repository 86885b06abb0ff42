"""Opens an export that came from elsewhere: everything in it is checked before anything of it is believed.

Rule 1: no name in it becomes a place on the disk, and nothing is unpacked that `player.json` does not list by size and hash.
Rule 2: what is unpacked lies in a folder of its own until all of it has come out right.
"""

from __future__ import annotations

import contextlib
import hashlib
import shutil
import tempfile
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import orjson
from pydantic import ValidationError

from server.first_fault import first_fault
from server.store.archive import ABOUT, member_of
from server.store.archive_form import EXPORT, FORM_VERSION, Head

_MOST_ABOUT_BYTES: Final = 2**30
_PIECE: Final = 2**20


class ExportInvalid(Exception):
    """An export that cannot be taken in; the message says why, a clause."""


@dataclass(slots=True, kw_only=True)
class Unpacked:
    """A sound export."""

    about: dict[str, Any]
    files: dict[str, Path] = field(default_factory=dict)
    """Its recordings by hash, in a folder that is gone in the end."""


@contextlib.contextmanager
def unpacked(place: Path, folder: Path) -> Iterator[Unpacked]:
    """Unpack it beside where its recordings will lie. Raises `ExportInvalid`, or OSError when the disk fails."""
    try:
        with zipfile.ZipFile(place) as archive:
            members = {one.filename: one for one in archive.infolist()}
            if len(members) < len(archive.infolist()):
                raise ExportInvalid("it holds two files of the same name")
            found = Unpacked(about=_about(archive, members.pop(ABOUT, None)))
            folder.mkdir(parents=True, exist_ok=True)
            beside = Path(tempfile.mkdtemp(prefix=".importing-", dir=folder))
            try:
                for practice in found.about["practices"]:
                    for one in practice["recordings"]:
                        member = members.pop(member_of(one["path"], one["sha256"]), None)
                        if member is not None:
                            found.files[one["sha256"]] = _recording(archive, member, one, beside)
                if members:
                    raise ExportInvalid(f"it holds {next(iter(members))!r}, which it does not list")
                yield found
            finally:
                shutil.rmtree(beside, ignore_errors=True)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
        raise ExportInvalid("it is damaged, was cut off, or is no export; copy it again from where it came") from error


def _about(archive: zipfile.ZipFile, member: zipfile.ZipInfo | None) -> dict[str, Any]:
    if member is None:
        raise ExportInvalid(f"there is no {ABOUT} in it, so it is no export of a player")
    if member.file_size > _MOST_ABOUT_BYTES:
        raise ExportInvalid(f"{ABOUT} in it is larger than {_MOST_ABOUT_BYTES // 2**20} MB")
    raw = archive.read(member)
    try:
        version = Head.model_validate_json(raw).version
        if version == 0:
            raise ExportInvalid(
                "it was written by an earlier Pitchbend, which left some things out. Export it there again with this version; or "
                "unpack it and run `pitchbend store fill` with its folder, which takes in the recordings and what came of them"
            )
        if version > FORM_VERSION:
            raise ExportInvalid("a newer version of Pitchbend wrote it; use that one here, too")
        EXPORT.model_validate_json(raw)
    except ValidationError as error:
        where, what = first_fault(error)
        raise ExportInvalid(f"{ABOUT} in it is not of the form it should have ({where or 'JSON'}: {what})") from error
    about: dict[str, Any] = orjson.loads(raw)
    return about


def _recording(archive: zipfile.ZipFile, member: zipfile.ZipInfo, listed: dict[str, Any], beside: Path) -> Path:
    if member.file_size != listed["size_bytes"]:
        raise ExportInvalid(f"{member.filename} in it is not as long as it should be; copy it again from where it came")
    place, found = beside / f"{listed['sha256']}.mcap", hashlib.sha256()
    with archive.open(member) as source, place.open("wb") as file:
        while piece := source.read(_PIECE):
            found.update(piece)
            file.write(piece)
    if found.hexdigest() != listed["sha256"]:
        raise ExportInvalid(f"{member.filename} in it has been changed; export it again where it came from")
    return place
