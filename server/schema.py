"""Writes the wire contract as JSON Schema: `python -m server.schema`. The page's types are made from it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Final

from pydantic import TypeAdapter

from server.wire import PROTOCOL_VERSION, SERVER_MESSAGE
from server.wire_board import BoardMessage
from server.wire_client import CLIENT_MESSAGE

SHARED: Final = Path(__file__).resolve().parent.parent / "shared"
SCHEMA: Final = SHARED / "live.schema.json"
VERSION: Final = SHARED / "VERSION"


def document() -> dict[str, Any]:
    """Give the contract: what server and client send, what the board is told, and what all of them are made of."""
    schemas, shared = TypeAdapter.json_schemas(
        [
            ("server", "serialization", SERVER_MESSAGE),
            ("client", "serialization", CLIENT_MESSAGE),
            ("board", "serialization", TypeAdapter(BoardMessage)),
        ],
        title="Pitchbend live socket",
        description="Every message on /ws/live and /ws/board; prose in shared/README.md. "
        "Made by `python -m server.schema`: do not edit.",
    )
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **{key: shared[key] for key in ("title", "description")},
        "version": PROTOCOL_VERSION,
        "type": "object",
        "properties": {direction: schemas[direction, "serialization"] for direction in ("server", "client", "board")},
        "$defs": shared["$defs"],
    }


def text() -> str:
    """Give the document as the file holds it."""
    return json.dumps(document(), indent=1, ensure_ascii=False) + "\n"


def main() -> None:
    """Write `live.schema.json` and `VERSION`."""
    SCHEMA.write_text(text(), encoding="utf-8")
    VERSION.write_text(f"{PROTOCOL_VERSION}\n", encoding="utf-8")


if __name__ == "__main__":
    main()
