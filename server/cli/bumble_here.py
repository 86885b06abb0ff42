"""Makes sure that the library behind virtual sensors is there."""

from __future__ import annotations

import importlib.util
import shlex
import sys
from importlib import metadata

from server.cli.failures import CommandFailed


def require_bumble() -> None:
    """Raise `CommandFailed` with the command that installs it."""
    if importlib.util.find_spec("bumble") is None:
        raise CommandFailed(f"Virtual sensors need one more library, Bumble. Install it with:\n  {install_command()}")


def install_command() -> str:
    """Give the command for this very Python."""
    wanted = [line for line in metadata.requires("pitchbend") or [] if 'extra == "virtual"' in line.replace("'", '"')]
    names = [line.split(";")[0].strip() for line in wanted] or ["bumble"]
    return shlex.join([sys.executable, "-m", "pip", "install", *names])
