"""The bounded queue between radio callbacks and whoever iterates over the source."""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Callable
from typing import Final

from sensors.events import RawPacket, SourceEvent

_RESERVE_EVENTS: Final = 64
"""Places that packets may not take, so that a full queue can still say that a link went down."""


class EventQueue:
    """Callbacks put, one reader gets. When full, the newest event is dropped and counted: no callback ever waits.

    Ask `stamp_ns` and put the event in one go, with no `await` between: then stamps never decrease along the queue.
    """

    def __init__(self, clock: Callable[[], int], *, max_events: int) -> None:
        if max_events <= _RESERVE_EVENTS:
            raise ValueError(f"max_events must exceed {_RESERVE_EVENTS}, not {max_events}")
        self.n_dropped = 0
        self._clock = clock
        self._max_events = max_events
        self._events: deque[SourceEvent] = deque()
        self._wake = asyncio.Event()
        self._closed = False
        self._bug: BaseException | None = None
        self._last_ns: int | None = None

    def stamp_ns(self) -> int:
        """Host time now; never before the stamp given last."""
        now_ns = self._clock()
        if self._last_ns is not None and now_ns < self._last_ns:
            now_ns = self._last_ns
        self._last_ns = now_ns
        return now_ns

    def put(self, event: SourceEvent) -> None:
        """Append an event; when there is no room, drop and count it."""
        limit = self._max_events - (_RESERVE_EVENTS if isinstance(event, RawPacket) else 0)
        if self._closed or len(self._events) >= limit:
            self.n_dropped += 1
            return
        self._events.append(event)
        self._wake.set()

    def close(self, bug: BaseException | None = None) -> None:
        """Nothing comes after what is in the queue now, except `bug`. The first call counts."""
        if not self._closed:
            self._closed = True
            self._bug = bug
            self._wake.set()

    def take_bug(self) -> BaseException | None:
        """Give the bug that the queue was closed with, once."""
        bug, self._bug = self._bug, None
        return bug

    async def get(self) -> SourceEvent | None:
        """Wait for the next event; None at the end. Raises the bug that ended it, once everything before it is read."""
        while not self._events:
            if self._closed:
                bug = self.take_bug()
                if bug is not None:
                    raise bug
                return None
            self._wake.clear()
            await self._wake.wait()
        return self._events.popleft()
