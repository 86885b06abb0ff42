"""Language-neutral check values in `shared/vectors`; each file names its source."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

_FOLDER = Path(__file__).resolve().parent.parent / "shared" / "vectors"


def cases(name: str) -> list[dict[str, Any]]:
    """The cases of one file."""
    loaded: list[dict[str, Any]] = json.loads((_FOLDER / f"{name}.json").read_text(encoding="utf-8"))["cases"]
    return loaded
