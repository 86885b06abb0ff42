"""Everything that is chosen for one practice before the service begins. Light: every command that may serve loads it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from sensors.events import PlayerSet
from sensors.ids import Move
from sensors.sources.base import Source
from server.choosing.choice import Choice
from server.drills import DrillText
from server.habits import HabitStore
from server.storing.storing import Storing
from server.trims import TrimStore
from server.wire import SourceView

if TYPE_CHECKING:
    from server.replay.deck import Deck


@dataclass(frozen=True, slots=True, kw_only=True)
class BaySpec:
    """One practice to be."""

    make_source: Callable[[], Source] | None = None
    deck: Deck | None = None
    """Plays a recording, in the place of a source."""
    view: SourceView
    name: str = ""
    """What people call it; by default the player's name, or the source's."""
    repeat: bool = False
    """Each end of the source is a new beginning. Such a practice cannot be recorded: its time would run backwards."""
    record_to: Path | None = None
    player: PlayerSet | None = None
    trims: TrimStore | None = None
    habits: HabitStore | None = None
    drill: DrillText | None = None
    second: DrillText | None = None
    """Judged beside it, without a sound."""
    choice: Choice | None = None
    tell: Callable[[str], None] = lambda _: None
    """Told, a sentence at a time, what the terminal should show."""
    asked: Callable[[Move], None] | None = None
    """Told of each fit move that the page begins."""
    notes: Mapping[str, str] | None = None
    """Free text about the recording."""
    storing: Storing | None = None
    """Puts the recording into the store when it is closed; None: it stays a file."""

    def __post_init__(self) -> None:
        if self.repeat and self.record_to is not None:
            raise ValueError("a practice that repeats cannot be recorded: its time would run backwards")
        if self.storing is not None and self.view.kind not in ("live", "virtual"):
            raise ValueError("only what is swung now comes into the store by itself")
        if (self.make_source is None) is (self.deck is None):
            raise ValueError("a practice has either a source or a deck")
        if self.deck is not None and self.record_to is not None:
            raise ValueError("what plays under somebody's hand cannot be recorded: its time runs backwards")

    @property
    def title(self) -> str:
        """What people call it."""
        return self.name or (self.player.name if self.player is not None else "") or self.view.name
