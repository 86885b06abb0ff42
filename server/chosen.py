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

    def since(self, before: Chosen, arrival_ns: int) -> tuple[SourceEvent, ...]:
        """Give the events that make it so where it was as `before`."""
        changed = Chosen(
            player=self.player if self.player != before.player else None,
            drill=self.drill if self.drill != before.drill else None,
            second=self.second if self.second != before.second else None,
            lead_s=self.lead_s if self.lead_s != before.lead_s else 0.0,
            paused=self.paused and not before.paused,
        )
        undone: list[SourceEvent] = []
        if before.lead_s and not self.lead_s:
            undone.append(LookAheadSet(arrival_ns=arrival_ns, lead_s=0.0))
        if before.second is not None and self.second is None:
            undone.append(SecondDrillSet(arrival_ns=arrival_ns, text=""))
        if before.paused and not self.paused:
            undone.append(PauseSet(arrival_ns=arrival_ns, paused=False))
        return (*undone, *changed.opening(arrival_ns))

    def overrides(self, event: SourceEvent, before: Chosen) -> bool:
        """Whether an event of a recording would undo what was chosen since it was as `before`."""
        match event:
            case DrillSet():
                return self.drill != before.drill
            case SecondDrillSet():
                return self.second != before.second
            case LookAheadSet():
                return self.lead_s != before.lead_s
            case PauseSet():
                return self.paused != before.paused
            case _:
                return False
