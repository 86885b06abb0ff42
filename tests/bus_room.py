"""For tests of a board: a practice that tells of itself on a bus, and a board that hears it, with a clock that can be set."""

from __future__ import annotations

import asyncio
import json
from contextlib import asynccontextmanager

from server.bays.bay import Bays
from server.bays.board_room import BoardRoom
from server.bays.local_bay import LocalBay
from server.bays.outlet import Outlet
from server.bus.subjects import BayAddress, new_number
from server.engine import Engine
from server.joining.guest import Guest, GuestRole
from tests.live_service import LIVE, HandSource, ToldPipeline, never

COACH = Guest(role=GuestRole.COACH, name="iPad")


class Clock:
    """Steady, and set forward by a test."""

    def __init__(self) -> None:
        self.ahead_s = 0.0

    def __call__(self) -> float:
        return asyncio.get_running_loop().time() + self.ahead_s


def practice(bay_id: str = "one") -> LocalBay:
    source = HandSource()
    engine = Engine(lambda: source, view=LIVE, make_pipeline=lambda: ToldPipeline({}), sleep=never)
    return LocalBay(engine, id=bay_id, name=bay_id.title())


async def until(true, seconds=20):
    async with asyncio.timeout(seconds):
        while not true():
            await asyncio.sleep(0.01)


async def heard(mailbox, kind):
    """The next of that kind, and all before it."""
    seen = []
    async with asyncio.timeout(20):
        while not seen or seen[-1]["type"] != kind:
            seen.append(json.loads(await mailbox.take()))
    return seen


class Room:
    """One board, and practices that can be told of on its bus and vanish."""

    def __init__(self, bus) -> None:
        self.bus = bus
        self.clock = Clock()
        self.sentences = []
        self.bays = Bays([])
        self.board = BoardRoom(bus, self.bays, tell=self.sentences.append, clock_s=self.clock)
        self._tasks = {}

    def tell_of(self, bay: LocalBay, *, host: str = "mat-3") -> Outlet:
        outlet = Outlet(bay, self.bus, BayAddress(bay.id, new_number()), host=host, clock_s=self.clock)
        self._tasks[outlet] = asyncio.create_task(outlet.run())
        return outlet

    async def stop(self, outlet: Outlet, *, quietly: bool = False) -> None:
        """Let it leave, or vanish without a word."""
        if quietly:
            outlet._say_goodbye = _nothing
        await ended(self._tasks.pop(outlet))

    async def remote(self, bay_id: str = "one"):
        await until(lambda: self.bays.find(bay_id) is not None)
        return self.bays.find(bay_id)

    @asynccontextmanager
    async def open(self):
        board = asyncio.create_task(self.board.run())
        await asyncio.sleep(0)
        try:
            yield self
        finally:
            for outlet in list(self._tasks):
                await self.stop(outlet)
            await ended(board)


async def _nothing() -> None:
    pass


async def ended(task: asyncio.Task) -> None:
    task.cancel()
    await asyncio.wait({task})
    assert task.cancelled() or task.exception() is None, task.exception()
