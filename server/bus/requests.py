"""Questions over a bus, and their answers: a subject for answers of one's own, and patience."""

from __future__ import annotations

import asyncio
import itertools
import secrets

from server.bus.bus import Bus, BusMessage


class Requests:
    """`await ask(...)` gives the first answer, or None when none has come in time."""

    def __init__(self, bus: Bus) -> None:
        self._bus = bus
        self._inbox = f"pitchbend.answer.{secrets.token_hex(8)}"
        self._numbers = itertools.count()
        self._waiting: dict[str, asyncio.Future[bytes]] = {}
        bus.subscribe(f"{self._inbox}.*", self._hear)

    async def ask(self, subject: str, data: bytes, *, patience_s: float) -> bytes | None:
        """Ask whoever listens there."""
        reply_to = f"{self._inbox}.{next(self._numbers)}"
        answer: asyncio.Future[bytes] = asyncio.get_running_loop().create_future()
        self._waiting[reply_to] = answer
        try:
            async with asyncio.timeout(patience_s):
                await self._bus.publish(subject, data, reply_to=reply_to)
                return await answer
        except TimeoutError:
            return None
        finally:
            del self._waiting[reply_to]

    def _hear(self, message: BusMessage) -> None:
        answer = self._waiting.get(message.subject)
        if answer is not None and not answer.done():
            answer.set_result(message.data)
