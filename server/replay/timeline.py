"""What is in a recording and where, as its first reading finds it."""

from __future__ import annotations

from typing import Final

from fusion.outputs.rep import Rep
from sensors.events import MessageSaid, NoteWritten, RepMarked, SourceEvent
from server.wire_replay import ReplayTimelineMessage, TimelineRemark, TimelineRep

BEFORE_S: Final = 1.0
"""Of the address before a takeaway that is looked at with the rep."""
_AFTER_S: Final = 0.5


def rep_on_timeline(rep: Rep, told_s: float) -> TimelineRep:
    """Place a rep; `told_s` is when the pages are told of it."""
    return TimelineRep(
        index=rep.index,
        from_s=max(0.0, rep.takeaway_s - BEFORE_S),
        takeaway_s=rep.takeaway_s,
        top_s=rep.takeaway_s + rep.backswing_s,
        to_s=max(rep.finish_s or 0.0, told_s) + _AFTER_S,
        verdict=rep.verdict,
        cued=rep.cued,
    )


def remark_on_timeline(event: SourceEvent, t_s: float) -> TimelineRemark | None:
    """Place what somebody marked, noted or said; None for any other event."""
    match event:
        case RepMarked():
            return TimelineRemark(kind="mark", t_s=t_s, text="", mark=event.mark, rep=event.rep, by=event.by)
        case NoteWritten():
            return TimelineRemark(kind="note", t_s=t_s, text=event.text, rep=event.rep or None, by=event.by)
        case MessageSaid():
            return TimelineRemark(kind="said", t_s=t_s, text=event.text, by=event.by)
        case _:
            return None


class Timeline:
    """Grows until the recording has been read through."""

    def __init__(self) -> None:
        self.known_s = 0.0
        self.progress = 0.0
        self.duration_s: float | None = None
        self.trouble = ""
        self._reps: dict[int, TimelineRep] = {}
        self._remarks: list[TimelineRemark] = []

    def add(self, item: TimelineRep | TimelineRemark) -> None:
        """Put a rep (or the better one in its place) or a remark on it."""
        if isinstance(item, TimelineRep):
            self._reps[item.index] = item
        else:
            self._remarks.append(item)

    def rep(self, index: int) -> TimelineRep | None:
        """Find a rep by its number."""
        return self._reps.get(index)

    def next_rep(self, at_s: float) -> TimelineRep | None:
        """Find the first one that begins later."""
        return next((rep for rep in self._reps.values() if rep.from_s > at_s + _SAME_S), None)

    def previous_rep(self, at_s: float) -> TimelineRep | None:
        """Find the one under way or over, unless it has only just begun: then the one before."""
        return next((rep for rep in reversed(self._reps.values()) if rep.from_s < at_s - BEFORE_S), None)

    def message(self) -> ReplayTimelineMessage:
        """Tell it."""
        return ReplayTimelineMessage(
            reps=list(self._reps.values()),
            remarks=sorted(self._remarks, key=lambda remark: remark.t_s),
            known_s=self.known_s,
            progress=self.progress,
            duration_s=self.duration_s,
            trouble=self.trouble,
        )


_SAME_S: Final = 0.001
