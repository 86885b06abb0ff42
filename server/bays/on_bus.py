"""What a service does on a bus, beside its practices: tell of them, or be a board for those of others."""

from __future__ import annotations

import asyncio
import socket
from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from server.bays.bay import Bays
from server.bays.board_room import BoardRoom
from server.bays.local_bay import LocalBay
from server.bays.outlet import Outlet
from server.bus.address import BusAddress
from server.bus.bus import Bus
from server.bus.health import BusHealth
from server.bus.subjects import BayAddress, new_number

if TYPE_CHECKING:
    from server.bus.nats_bus import NatsBus


def this_host() -> str:
    """What this computer is called."""
    return socket.gethostname().split(".", 1)[0][:80] or "a computer without a name"


class OnBus(ABC):
    """`await run()` in a task; `tell` hears, a sentence at a time, how the bus is."""

    def __init__(self, address: BusAddress, tell: Callable[[str], None]) -> None:
        self._address = address
        self._tell = tell
        self._bus: NatsBus | None = None

    async def run(self) -> None:
        """Be on the bus until cancelled. What leaves it can still say so: the connection is closed last."""
        from server.bus.nats_bus import NatsBus  # noqa: PLC0415  # its library is an extra

        self._bus = NatsBus(self._address, tell=self._tell)
        running = asyncio.create_task(self._bus.run(), name="bus")
        try:
            await self._be_on(self._bus)
        finally:
            running.cancel()
            await asyncio.wait({running})

    def health(self) -> BusHealth:
        """How it fares, in figures."""
        fares = self._fares()
        if self._bus is None:
            return fares
        return fares.model_copy(update={"away": self._bus.trouble, "connected": self._bus.n_connected})

    @abstractmethod
    async def _be_on(self, bus: Bus) -> None:
        """Do what there is to do there."""

    @abstractmethod
    def _fares(self) -> BusHealth:
        """Count it, but for the connection."""


class Telling(OnBus):
    """Tells the boards on a bus of these practices."""

    def __init__(self, address: BusAddress, bays: Sequence[LocalBay], tell: Callable[[str], None]) -> None:
        super().__init__(address, tell)
        self._bays = bays
        self._instance = new_number()
        self._outlets: list[Outlet] = []

    async def _be_on(self, bus: Bus) -> None:
        self._outlets = [Outlet(bay, bus, BayAddress(bay.id, self._instance), host=this_host()) for bay in self._bays]
        async with asyncio.TaskGroup() as tasks:
            for outlet in self._outlets:
                tasks.create_task(outlet.run(), name="a practice on the bus")

    def _fares(self) -> BusHealth:
        counts = [outlet.counts for outlet in self._outlets]
        return BusHealth(
            away="",
            connected=0,
            boards=max((one.boards for one in counts), default=0),
            asked=sum(one.asked for one in counts),
            told=sum(one.told for one in counts),
            too_long=sum(one.too_long for one in counts),
            refused=sum(one.refused for one in counts),
        )


class Watching(OnBus):
    """Fills a board with the practices on a bus."""

    def __init__(self, address: BusAddress, bays: Bays, tell: Callable[[str], None]) -> None:
        super().__init__(address, tell)
        self._bays = bays
        self._room: BoardRoom | None = None

    async def _be_on(self, bus: Bus) -> None:
        self._room = BoardRoom(bus, self._bays, tell=self._tell)
        await self._room.run()

    def _fares(self) -> BusHealth:
        refused = self._room.n_refused if self._room is not None else 0
        return BusHealth(away="", connected=0, boards=0, asked=0, told=0, too_long=0, refused=refused)
