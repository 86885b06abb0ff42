"""What the page checks messages against is what the server promises."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from server import schema

GENERATED = Path(__file__).parents[2] / "web" / "src" / "wire" / "schema.gen.json"
PROSE = {"title", "description", "additionalProperties", "default", "discriminator"}


def lean(node: Any, *, fields: bool = False) -> Any:
    if isinstance(node, list):
        return [lean(item) for item in node]
    if not isinstance(node, dict):
        return node
    return {k: lean(v, fields=k == "properties" and not fields) for k, v in node.items() if fields or k not in PROSE}


def test_the_generated_schema_is_that_of_the_server() -> None:
    promised: dict[str, Any] = schema.document()["$defs"]
    for definition in promised.values():
        if "const" in definition.get("properties", {}).get("type", {}):
            definition["required"] = sorted({"type", *definition.get("required", [])})
    generated = json.loads(GENERATED.read_text(encoding="utf-8"))
    for definition in generated.values():
        if "const" in definition.get("properties", {}).get("type", {}):
            definition["required"] = sorted(definition["required"])
    assert generated == lean(promised), "run `npm run types` in web/"
