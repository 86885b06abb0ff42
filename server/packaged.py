"""Finds what comes with the program."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path


def packaged(inside: str, checkout: str) -> Path | None:
    """Look inside the installed package, then in the checkout; None when it is in neither."""
    package = Path(str(files("server")))
    return next((place for place in (package / inside, package.parent / checkout) if place.exists()), None)
