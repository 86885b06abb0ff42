"""Where practices are kept, and what a new one is called."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection
from datetime import datetime
from pathlib import Path

import platformdirs

_LONGEST_NAME = 40


def default_folder() -> Path:
    """Give the folder for practices, among this user's documents: it is theirs, and there they look first."""
    return Path(platformdirs.user_documents_dir()) / "Pitchbend"


def received_folder() -> Path:
    """Give the folder for recordings that somebody sent or brought."""
    return default_folder() / "received"


def earlier_folder() -> Path:
    """Give the folder where versions up to 0.1 kept practices."""
    return Path(platformdirs.user_data_dir("pitchbend", appauthor=False)) / "practices"


def practice_path(folder: Path, player: str, now: datetime, *, taken: Collection[Path] = ()) -> Path:
    """Name a new recording `<folder>/<date>/<date>_<time>_<player>.mcap`; a number is added while the name is taken.

    `taken` are names already given to recordings that have not begun.

    The date is also in the file's own name, for it will be sent around without its folder.
    """
    day = folder / now.strftime("%Y-%m-%d")
    return _free_path(day, f"{now.strftime('%Y-%m-%d_%H-%M-%S')}_{plain_name(player)}", "", taken=taken)


def part_path(folder: Path, stem: str) -> Path:
    """Name the file that goes on where the one called `stem` stopped."""
    return _free_path(folder, stem, "part-", number=2)


def _free_path(folder: Path, stem: str, word: str, *, number: int = 1, taken: Collection[Path] = ()) -> Path:
    path = folder / (f"{stem}.mcap" if number == 1 else f"{stem}-{word}{number}.mcap")
    while path in taken or path.exists():
        number += 1
        path = folder / f"{stem}-{word}{number}.mcap"
    return path


def plain_name(player: str) -> str:
    """Reduce a name to letters and digits of any script, which every file system takes."""
    letters = unicodedata.normalize("NFC", player.encode("utf-8", "ignore").decode("utf-8"))
    return re.sub(r"[\W_]+", "-", letters).strip("-").lower()[:_LONGEST_NAME].strip("-") or "practice"
