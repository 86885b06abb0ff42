"""Where the built page is."""

from __future__ import annotations

from pathlib import Path

STATIC = Path(__file__).parents[2] / "server" / "static"
