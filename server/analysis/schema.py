"""Writes the form of the reps file as JSON Schema: `python -m server.analysis.schema`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Final

from server.analysis.reps_file import REPS

SCHEMA: Final = Path(__file__).resolve().parents[2] / "shared" / "reps.schema.json"


def document() -> dict[str, Any]:
    """Give the schema of the whole file."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Pitchbend reps",
        "description": "What `pitchbend analyse FILE --reps` writes. Made by `python -m server.analysis.schema`: do not edit.",
        **REPS.json_schema(mode="serialization"),
    }


def text() -> str:
    """Give the document as the file holds it."""
    return json.dumps(document(), indent=1, ensure_ascii=False) + "\n"


def main() -> None:
    """Write `shared/reps.schema.json`."""
    SCHEMA.write_text(text(), encoding="utf-8")


if __name__ == "__main__":
    main()
