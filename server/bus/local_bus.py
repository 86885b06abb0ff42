"""A bus within this process: what is used when none is named."""

from __future__ import annotations

import itertools

from server.bus.bus import BusMessage, Heard, Stop, matches


class LocalBus:
    """Delivers at once, in the publisher's own turn."""

    def __init__(self) -> None:
        self._numbers = itertools.count()
        self._listeners: dict[int, tuple[str, Heard]] = {}

    async def publish(self, subject: str, data: bytes, *, reply_to: str = "") -> None:
        """See `Bus.publish`."""
        message = BusMessage(subject=subject, data=data, reply_to=reply_to)
        for pattern, heard in tuple(self._listeners.values()):
            if matches(pattern, subject):
                heard(message)

    def subscribe(self, pattern: str, heard: Heard) -> Stop:
        """See `Bus.subscribe`."""
        number = next(self._numbers)
        self._listeners[number] = pattern, heard
        return lambda: self._listeners.pop(number, None) and None
