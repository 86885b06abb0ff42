"""Finds the recording that comes with the program."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from server.cli.failures import CommandFailed

NAME = "hollow-fen-evening.mcap"


def demo_recording() -> Path:
    """Look inside the installed package, then in the checkout. Raises `CommandFailed` when it is in neither."""
    package = Path(str(files("server")))
    for folder in (package / "_recordings", package.parent / "recordings"):
        if (folder / NAME).is_file():
            return folder / NAME
    raise CommandFailed(f"The demo recording ({NAME}) is missing: install Pitchbend again.")
