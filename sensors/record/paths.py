"""Where practices are kept, and what a new one is called."""

from __future__ import annotations

import re
import unicodedata
from datetime import datetime
from pathlib import Path

import platformdirs

_LONGEST_NAME = 40


def default_folder() -> Path:
    """Give this user's own folder for practices."""
    return Path(platformdirs.user_data_dir("pitchbend", appauthor=False)) / "practices"


def practice_path(folder: Path, player: str, now: datetime) -> Path:
    """Name a new recording `<folder>/<date>/<time>-<player>.mcap`; a number is added while the name is taken."""
    day = folder / now.strftime("%Y-%m-%d")
    stem = f"{now.strftime('%H%M%S')}-{_plain(player)}"
    path = day / f"{stem}.mcap"
    number = 2
    while path.exists():
        path = day / f"{stem}-{number}.mcap"
        number += 1
    return path


def _plain(player: str) -> str:
    """Reduce a name to letters and digits of any script, which every file system takes."""
    letters = unicodedata.normalize("NFC", player.encode("utf-8", "ignore").decode("utf-8"))
    return re.sub(r"[\W_]+", "-", letters).strip("-").lower()[:_LONGEST_NAME].strip("-") or "practice"
