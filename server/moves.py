"""The texts of the fit moves, which the pages and the terminal share: `shared/moves.json`."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache

from sensors.ids import Move
from server.packaged import packaged


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveText:
    """What a fit move is called, and how it is made."""

    title: str
    how: str
    held: bool
    """A pose to be held, not a motion."""


@cache
def moves() -> dict[Move, MoveText]:
    """Give them in the order in which they are best made, those that may be left out last."""
    path = packaged("_moves.json", "shared/moves.json")
    if path is None:
        raise FileNotFoundError("the texts of the fit moves are missing: install Pitchbend again")
    text = json.loads(path.read_text(encoding="utf-8"))
    return {
        Move(one["move"]): MoveText(title=one["title"], how=one["how"], held=one["held"])
        for one in (*text["full"], *text["more"])
    }
