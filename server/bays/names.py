"""What a bay is called in addresses and on a bus: a word of lower-case letters, digits and hyphens."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from typing import Final

_LONGEST: Final = 32


def slug(name: str) -> str:
    """Reduce a name to plain letters; `practice` where none is left."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:_LONGEST].strip("-") or "practice"


def slugs(names: Sequence[str]) -> tuple[str, ...]:
    """Give each name its own: the second of the same gets a 2."""
    taken: list[str] = []
    for name in names:
        first = word = slug(name)
        number = 1
        while word in taken:
            number += 1
            word = f"{first}-{number}"
        taken.append(word)
    return tuple(taken)
