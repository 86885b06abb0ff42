"""What a command wants of the store. Light: every command that may serve loads it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreWish:
    """Which store the API is over. Nothing of it is opened before somebody asks."""

    place: str | None = None
    """A URL or a file; None for the one in this user's data folder."""
    shown: tuple[Path, ...] = ()
    """Recordings to show and to forget: the store is a temporary one, filled with them when somebody first asks."""
    keep_in: Path | None = None
    """Where recordings that are sent here are kept; by default among this user's own."""
