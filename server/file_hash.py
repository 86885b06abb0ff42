"""By what a file is known wherever it lies: its content."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Final

_PIECE: Final = 2**20


def sha256_of(path: Path) -> str:
    """Give the hash of a file's bytes, in memory that does not grow with it. Raises OSError."""
    found = hashlib.sha256()
    with path.open("rb") as file:
        while piece := file.read(_PIECE):
            found.update(piece)
    return found.hexdigest()
