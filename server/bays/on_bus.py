"""What a service does on a bus, beside its practices: tell of them, or be a board for those of others."""

from __future__ import annotations

import asyncio
import contextlib
import socket
from collections.abc import AsyncIterator, Callable, Sequence

from server.app import Job
from server.bays.bay import Bays
from server.bays.board_room import BoardRoom
from server.bays.local_bay import LocalBay
from server.bays.outlet import Outlet
from server.bus.address import BusAddress
from server.bus.bus import Bus
from server.bus.subjects import BayAddress, new_number


def this_host() -> str:
    """What this computer is called."""
    return socket.gethostname().split(".", 1)[0][:80] or "a computer without a name"


def telling(address: BusAddress, bays: Sequence[LocalBay], tell: Callable[[str], None]) -> Job:
    """Give the job that tells the boards on a bus of these practices."""
    instance = new_number()

    async def run() -> None:
        async with _bus(address, tell) as bus, asyncio.TaskGroup() as tasks:
            for bay in bays:
                outlet = Outlet(bay, bus, BayAddress(bay.id, instance), host=this_host())
                tasks.create_task(outlet.run(), name=f"{bay.id} on the bus")

    return run


def watching(address: BusAddress, bays: Bays, tell: Callable[[str], None]) -> Job:
    """Give the job that fills a board with the practices on a bus."""

    async def run() -> None:
        async with _bus(address, tell) as bus:
            await BoardRoom(bus, bays, tell=tell).run()

    return run


@contextlib.asynccontextmanager
async def _bus(address: BusAddress, tell: Callable[[str], None]) -> AsyncIterator[Bus]:
    """Be on the bus for the length of the block: whoever leaves can still say so."""
    from server.bus.nats_bus import NatsBus  # noqa: PLC0415  # its library is an extra

    bus = NatsBus(address, tell=tell)
    running = asyncio.create_task(bus.run(), name="bus")
    try:
        yield bus
    finally:
        running.cancel()
        await asyncio.wait({running})
