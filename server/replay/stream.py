"""The events of a recording in order, from wherever it is wanted, and what was added on the page in its place among them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from sensors.events import SourceEvent
from sensors.record.reader import Reel
from server.replay.keyframe import Mark


class Stream:
    """`peek` at the next event, `take` it. No stamp is before another: one that is (damage, a bad copy) is moved up."""

    def __init__(
        self, path: Path, mark: Mark | None = None, *, added: Sequence[SourceEvent] = (), n_added: int = 0
    ) -> None:
        self._reel = Reel(path, mark.place if mark is not None else None)
        self.n_events = mark.n_events if mark is not None else 0
        """Events of the recording taken so far."""
        self.n_added = n_added
        self.last_ns = mark.at_ns if mark is not None else None
        """Stamp of the newest event taken."""
        self._added = added
        self._step = self._reel.step
        self._next = self._read()

    def _read(self) -> SourceEvent | None:
        self._step = self._reel.step
        event = self._reel.next()
        if event is not None and self.last_ns is not None and event.arrival_ns < self.last_ns:
            return replace(event, arrival_ns=self.last_ns)
        return event

    @property
    def mark(self) -> Mark:
        """Where it is now, between two events."""
        return Mark(n_events=self.n_events, at_ns=self.last_ns or 0, place=self._reel.place_of(self._step))

    @property
    def progress(self) -> float:
        """Share of the file that has been read."""
        return self._reel.report.share_read

    def peek(self) -> SourceEvent | None:
        """Give the event that comes next; None at the end."""
        own = self._added[self.n_added] if self.n_added < len(self._added) else None
        if own is None or (self._next is not None and self._next.arrival_ns < own.arrival_ns):
            return self._next
        return own

    def take(self) -> None:
        """Go on to the one after it."""
        event = self.peek()
        if event is None:
            return
        self.last_ns = event.arrival_ns
        if event is self._next:
            self.n_events += 1
            self._next = self._read()
        else:
            self.n_added += 1

    def close(self) -> None:
        """Let go of the file."""
        self._reel.close()
