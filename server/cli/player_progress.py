"""`pitchbend progress NAME`: how a player came along.

The work stands in `player_progress_work` and is loaded only when it runs, as with `server.cli.store`.
"""

from __future__ import annotations

from server.cli.options import StorePlace
from server.cli.store import Name


def progress(name: Name, *, store: StorePlace = None) -> None:
    """Show how a player came along: by drill and day, with the cue and without it, and what was left the next day.

    Every share comes with the interval in which it may truly lie (95 %). A trend is told only where there are days enough.

    For example: **pitchbend progress "Maren"**
    """
    from server.cli.player_progress_work import show_progress  # noqa: PLC0415  # see the top

    show_progress(name, store)
