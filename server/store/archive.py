"""One player's part of the store as a ZIP file: `player.json`, and the recordings as they are."""

from __future__ import annotations

import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import orjson

from server.store.archive_form import FORM_VERSION
from server.store.fill import recording_of

ABOUT: Final = "player.json"


def still_there(path: Path, sha256: str) -> bool:
    """Whether that file lies there, unchanged."""
    try:
        return recording_of(path).sha256 == sha256
    except OSError:
        return False


def write_archive(place: Path, about: dict[str, Any], recordings: Sequence[tuple[str, str]]) -> list[str]:
    """Write it; gives the recordings that are no longer where they were. Raises OSError."""
    missing: list[str] = []
    with zipfile.ZipFile(place, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(ABOUT, orjson.dumps({"version": FORM_VERSION, **about}, option=orjson.OPT_INDENT_2))
        for path, sha256 in recordings:
            if still_there(Path(path), sha256):
                archive.write(path, member_of(path, sha256))
            else:
                missing.append(path)
    return missing


def member_of(path: str, sha256: str) -> str:
    """Name a recording inside; its path may be of another kind of computer."""
    return f"recordings/{sha256[:8]}-{name_in(path)}"


def name_in(path: str) -> str:
    """Give the file's name in a path of Windows or any other."""
    return path.replace("\\", "/").rsplit("/", 1)[-1]
