"""A virtual pair and the ordinary radio source that reads it, on a virtual controller in this process.

Everything but the air itself is what a real pair would go through: scan, connect, GATT, the profile, drops and reconnects.
"""

from __future__ import annotations

import time
from collections import Counter, deque
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, AsyncExitStack
from types import TracebackType
from typing import Self

from sensors.events import MoveStart, SourceEvent
from sensors.ids import Move, SensorId
from sensors.sources.ble import BleSource
from sensors.sources.ble_bumble import BumbleRadio, backends_on
from sensors.virtual.air.pair import ADDRESSES, PairNews, PairSetup, VirtualPair
from sensors.virtual.stage.stage import MoveBegun


class VirtualPairSource:
    """Streams from a virtual pair. `MoveStart` comes of itself with each move that was not asked for by `asked`.

    `beside` is entered with the pair, for whatever shall play along. With a `speed` in the setup its stamps run faster than
    the host's clock, as the sensors do. Used once.
    """

    def __init__(
        self,
        setup: PairSetup,
        *,
        tell: Callable[[PairNews], None] = lambda _: None,
        beside: Callable[[VirtualPair], AbstractAsyncContextManager[None]] | None = None,
        clock: Callable[[], int] = time.monotonic_ns,
    ) -> None:
        self._beside = beside
        self._tell = tell
        self._clock = clock
        self._speed = setup.speed
        self._start_ns = clock()
        self._begun: deque[Move] = deque()
        self._asked: Counter[Move] = Counter()
        self._roles = setup.roles
        self.pair = VirtualPair(setup, tell=self._hear)
        self._source: BleSource | None = None
        self._exits = AsyncExitStack()

    def asked(self, move: Move) -> None:
        """The person has begun a fit move: the golfer makes it, and nobody needs to be told that it has begun."""
        self._asked[move] += 1
        self.pair.ask(move)

    async def __aenter__(self) -> Self:
        async with AsyncExitStack() as exits:
            await exits.enter_async_context(self.pair)
            if self._beside is not None:
                await exits.enter_async_context(self._beside(self.pair))
            radio = await BumbleRadio.open(self.pair.air)
            exits.push_async_callback(radio.device.power_off)
            scanner_backend, client_backend = backends_on(radio)
            self._source = await exits.enter_async_context(
                BleSource(
                    {SensorId(ADDRESSES[role]): role for role in self._roles},
                    clock=self._now_ns,
                    scanner_backend=scanner_backend,
                    client_backend=client_backend,
                )
            )
            self._exits = exits.pop_all()
        return self

    async def __aexit__(
        self, exc_type: type[BaseException] | None, exc: BaseException | None, tb: TracebackType | None
    ) -> None:
        await self._exits.__aexit__(exc_type, exc, tb)

    async def __aiter__(self) -> AsyncIterator[SourceEvent]:
        if self._source is None:
            raise RuntimeError("not entered")
        async for event in self._source:
            while self._begun:
                yield MoveStart(arrival_ns=event.arrival_ns, move=self._begun.popleft())
            yield event

    def _now_ns(self) -> int:
        return self._start_ns + round((self._clock() - self._start_ns) * self._speed)

    def _hear(self, news: PairNews) -> None:
        if isinstance(news, MoveBegun):
            if self._asked[news.move]:
                self._asked[news.move] -= 1
            else:
                self._begun.append(news.move)
        self._tell(news)
