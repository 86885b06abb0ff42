"""Finds the recording that comes with the program."""

from __future__ import annotations

from pathlib import Path

from server.cli.failures import CommandFailed
from server.packaged import packaged

NAME = "hollow-fen-evening.mcap"


def demo_recording() -> Path:
    """Give its place. Raises `CommandFailed` when it is not there."""
    found = packaged(f"_recordings/{NAME}", f"recordings/{NAME}")
    if found is None:
        raise CommandFailed(f"The demo recording ({NAME}) is missing: install Pitchbend again.")
    return found
