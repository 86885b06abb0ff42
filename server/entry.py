"""Where `pitchbend` begins: from here on Ctrl-C ends it quietly, while its parts are still being loaded too."""

from __future__ import annotations

import sys

INTERRUPTED = 130
"""What a shell expects of a command that Ctrl-C ended: 128 and the number of SIGINT."""


def main() -> None:
    """Load the command and run it."""
    try:
        from server.cli.main import main as command  # noqa: PLC0415  # takes most of a second

        command()
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)
