"""Writes the API's description: `python -m server.api.schema`. The page's types are made from it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Final

from server.api.api import make_api
from server.api.archive import Archive
from server.api.wish import StoreWish

DESCRIPTION: Final = Path(__file__).resolve().parents[2] / "shared" / "api.openapi.json"


def document() -> dict[str, Any]:
    """Give what `/api/openapi.json` answers."""
    return make_api(Archive(StoreWish())).openapi()


def text() -> str:
    """Give the document as the file holds it."""
    return json.dumps(document(), indent=1, ensure_ascii=False) + "\n"


def main() -> None:
    """Write `shared/api.openapi.json`."""
    DESCRIPTION.write_text(text(), encoding="utf-8")


if __name__ == "__main__":
    main()
