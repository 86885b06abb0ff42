"""How a command tells a person that something went wrong: one plain sentence, no traceback, exit code 2."""

from __future__ import annotations

import sys


class CommandFailed(Exception):
    """The person can put it right; the message is a sentence that says how."""


def tell(text: str) -> None:
    """Say it on stderr, so that what a command prints stays clean."""
    print(text, file=sys.stderr, flush=True)
