"""What a process of ours that works beside a service does first, so that it is not in the way."""

from __future__ import annotations

import os
import signal
from contextlib import suppress
from typing import Final

MODEST: Final = 10
"""For what somebody waits for..."""
LAST: Final = 19
"""... and for what nobody does: it takes only what time nobody else wants."""


def leave_ctrl_c() -> None:
    """A Ctrl-C is for the one who began the process, and ends it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def step_back(by: int) -> None:
    """Let everything else on the computer go first. On Windows whoever starts the process says so."""
    if hasattr(os, "nice"):
        with suppress(OSError):
            os.nice(by)
