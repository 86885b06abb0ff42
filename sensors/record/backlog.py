"""What waits to be written: the event loop puts and never waits, the writing thread takes.

Rule 1: order is kept, also of what is given back because the disk did not take it.
Rule 2: it is bounded. What finds no room is counted, and the count stands in the stream where the gap is.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Sequence
from typing import Final

from sensors.events import RawPacket, RecordingResumed, SourceEvent

MAX_EVENTS: Final = 60_000
"""25 minutes of two sensors at 20 packets a second each; 15 MB of memory when all are packets of ten samples."""
_RESERVE_EVENTS: Final = 256
"""Places that packets may not take: a fit move or a player is one event and worth more."""


class Backlog:
    """A queue between two threads."""

    def __init__(self, *, max_events: int = MAX_EVENTS) -> None:
        if max_events <= _RESERVE_EVENTS:
            raise ValueError(f"max_events must exceed {_RESERVE_EVENTS}, not {max_events}")
        self.n_missed = 0
        """Events that found no room, in all."""
        self._max_events = max_events
        self._events: deque[SourceEvent] = deque()
        self._changed = threading.Condition()
        self._missed: tuple[int, int, int] | None = None
        """Of the present gap: events, stamp of the first, stamp of the last."""
        self._closed = False

    def __len__(self) -> int:
        return len(self._events)

    @property
    def held_s(self) -> float:
        """From the oldest event that waits to the newest, seconds."""
        with self._changed:
            if not self._events:
                return 0.0
            return (self._events[-1].arrival_ns - self._events[0].arrival_ns) * 1e-9

    def put(self, event: SourceEvent) -> None:
        """Append an event, or count it when there is no room."""
        limit = self._max_events - (_RESERVE_EVENTS if isinstance(event, RawPacket) else 0)
        with self._changed:
            if len(self._events) >= limit:
                self._miss(event)
                return
            if self._missed is not None:
                self._events.append(self._gap_before(event))
            self._events.append(event)
            self._changed.notify()

    def take(self, timeout_s: float | None) -> SourceEvent | None:
        """Wait for the next event; None when the time is up, or when it is closed and empty."""
        with self._changed:
            self._changed.wait_for(lambda: self._events or self._closed, timeout_s)
            return self._events.popleft() if self._events else None

    def first_ns(self) -> int | None:
        """Stamp of the oldest event that waits."""
        with self._changed:
            return self._events[0].arrival_ns if self._events else None

    def give_back(self, events: Sequence[SourceEvent]) -> None:
        """Put taken events in front again, in their order."""
        with self._changed:
            self._events.extendleft(reversed(events))

    def close(self) -> None:
        """Let whoever waits go on: nothing more comes."""
        with self._changed:
            self._closed = True
            self._changed.notify_all()

    def _miss(self, event: SourceEvent) -> None:
        n, first_ns, _ = self._missed or (0, event.arrival_ns, 0)
        self._missed = (n + 1, first_ns, event.arrival_ns)
        self.n_missed += 1

    def _gap_before(self, event: SourceEvent) -> RecordingResumed:
        n, first_ns, last_ns = self._missed or (0, 0, 0)
        self._missed = None
        return RecordingResumed(arrival_ns=event.arrival_ns, n_missed=n, missed_s=(last_ns - first_ns) * 1e-9)
