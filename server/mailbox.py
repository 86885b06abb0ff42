"""What waits for one client. Rule 1: events are never skipped. Rule 2: of frames and of sensor lists only the newest waits.

Rule 3: nothing old follows something new, so an event throws away the frame that was made before it.
Rule 4: everything is bounded; a client that does not take its events is given up, and comes back to a fresh hello.
"""

from __future__ import annotations

import asyncio
from collections import deque
from typing import Final

MAX_EVENTS: Final = 256
MAX_UNACKNOWLEDGED: Final = 30
"""Frames on their way to a client that acknowledges. Buffers between here and a slow phone hold seconds of stale ones."""


class Mailbox:
    """One writer (the hub), one reader (the client's sender): `text = await mailbox.take()`."""

    def __init__(self, *, max_events: int = MAX_EVENTS) -> None:
        self.n_missed = 0
        """Frames that this client did not get: a newer one, or an event, came first, or it was too far behind."""
        self.n_dropped = 0
        """Events that found no room; the client is given up at the first."""
        self.n_taken = 0
        self.overflowed = asyncio.Event()
        self._max_events = max_events
        self._events: deque[str] = deque()
        self._frame: tuple[int, str] | None = None
        self._newest: dict[str, str] = {}
        """By kind, what is worth sending only in its newest form; the order is that of the first to come."""
        self._wake = asyncio.Event()
        self._acknowledges = False
        self._on_the_way: deque[int] = deque()

    @property
    def has_mail(self) -> bool:
        """Whether `take` would give something at once."""
        return bool(self._events) or bool(self._newest) or self._frame is not None

    @property
    def n_waiting(self) -> int:
        """Events not yet taken."""
        return len(self._events)

    @property
    def n_unacknowledged(self) -> int:
        """Frames taken that the client has not yet acknowledged; 0 for one that never did."""
        return len(self._on_the_way)

    def put_event(self, text: str) -> None:
        """Add what must arrive."""
        if self._frame is not None:
            self._frame = None
            self.n_missed += 1
        if self.overflowed.is_set() or len(self._events) >= self._max_events:
            self.n_dropped += 1
            self._events.clear()
            self._newest.clear()
            self.overflowed.set()
            return
        self._events.append(text)
        self._wake.set()

    def put_frame(self, seq: int, text: str) -> None:
        """Replace the waiting frame; skip this one while too many are unacknowledged."""
        if self.overflowed.is_set() or len(self._on_the_way) >= MAX_UNACKNOWLEDGED:
            self.n_missed += 1
            return
        if self._frame is not None:
            self.n_missed += 1
        self._frame = (seq, text)
        self._wake.set()

    def put_newest(self, kind: str, text: str) -> None:
        """Replace what waits of this kind (sensor health, sensors to choose from)."""
        if not self.overflowed.is_set():
            self._newest[kind] = text
            self._wake.set()

    def acknowledge(self, seq: int) -> None:
        """The client has handled every frame up to `seq`."""
        self._acknowledges = True
        while self._on_the_way and self._on_the_way[0] <= seq:
            self._on_the_way.popleft()

    async def take(self) -> str:
        """Wait for the next message: events first, and the rare sensor health before the many frames."""
        while (text := self._next()) is None:
            self._wake.clear()
            await self._wake.wait()
        self.n_taken += 1
        return text

    def _next(self) -> str | None:
        if self._events:
            return self._events.popleft()
        if self._newest:
            return self._newest.pop(next(iter(self._newest)))
        if self._frame is not None:
            (seq, text), self._frame = self._frame, None
            if self._acknowledges:
                self._on_the_way.append(seq)
            return text
        return None
