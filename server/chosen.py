"""What a person has chosen for the practice. Before the first event it waits; then it goes in front of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from sensors.events import DrillSet, LookAheadSet, PauseSet, PlayerSet, SecondDrillSet, SourceEvent
from server.drills import DrillText


@dataclass(slots=True, kw_only=True)
class Chosen:
    """The latest of each; None or 0 where nothing was chosen."""

    player: PlayerSet | None = None
    drill: DrillText | None = None
    second: DrillText | None = None
    """Judged beside it."""
    lead_s: float = 0.0
    """How much early the cue is begun."""
    paused: bool = False

    def opening(self, arrival_ns: int) -> tuple[SourceEvent, ...]:
        """Give the events that a practice begins with."""
        out: list[SourceEvent] = []
        if self.player is not None:
            out.append(replace(self.player, arrival_ns=arrival_ns))
        if self.lead_s:
            out.append(LookAheadSet(arrival_ns=arrival_ns, lead_s=self.lead_s))
        if self.drill is not None:
            out.append(DrillSet(arrival_ns=arrival_ns, text=self.drill.text))
        if self.second is not None:
            out.append(SecondDrillSet(arrival_ns=arrival_ns, text=self.second.text))
        if self.paused:
            out.append(PauseSet(arrival_ns=arrival_ns, paused=True))
        return tuple(out)
