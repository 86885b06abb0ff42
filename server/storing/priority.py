"""Lets everything else on the computer go first."""

from __future__ import annotations

import os


def step_back() -> None:
    """Take only what time nobody else wants. On Windows whoever starts the process says so."""
    if hasattr(os, "nice"):
        os.nice(19)
