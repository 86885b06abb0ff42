"""One at a time scans or connects; who connects goes first."""

from __future__ import annotations

import asyncio

from sensors.sources.turns import Turns


class Stand:
    def __init__(self):
        self.turns = Turns()
        self.order = []
        self.n_at_once = 0

    async def use(self, turn, name, until=None):
        async with turn:
            self.n_at_once += 1
            assert self.n_at_once == 1
            self.order.append(name)
            try:
                await (until.wait() if until else asyncio.sleep(0))
            finally:
                self.n_at_once -= 1

    def scan(self, name, until=None):
        return asyncio.create_task(self.use(self.turns.to_scan(), name, until))

    def connect(self, name, until=None):
        return asyncio.create_task(self.use(self.turns.to_connect(), name, until))


async def begun(stand, n):
    while len(stand.order) < n:
        await asyncio.sleep(0)


async def test_who_connects_goes_before_all_scans_that_wait():
    stand, over = Stand(), asyncio.Event()
    first = stand.scan("scan 1", over)
    await begun(stand, 1)
    rest = [stand.scan("scan 2"), stand.scan("scan 3"), stand.connect("connect 1"), stand.connect("connect 2")]
    for _ in range(10):
        await asyncio.sleep(0)
    assert stand.order == ["scan 1"]
    over.set()
    async with asyncio.timeout(10):
        await asyncio.gather(first, *rest)
    assert stand.order[:3] == ["scan 1", "connect 1", "connect 2"]
    assert set(stand.order[3:]) == {"scan 2", "scan 3"}


async def test_one_that_gives_up_connecting_holds_up_nobody():
    stand, over = Stand(), asyncio.Event()
    holds = stand.connect("connect 1", over)
    await begun(stand, 1)
    gives_up, scans = stand.connect("connect 2"), stand.scan("scan 1")
    await asyncio.sleep(0)
    gives_up.cancel()
    over.set()
    async with asyncio.timeout(10):
        await asyncio.gather(holds, scans)
    assert stand.order == ["connect 1", "scan 1"]


async def test_a_scan_that_is_given_up_frees_the_adapter():
    stand = Stand()
    scans = stand.scan("scan 1", asyncio.Event())
    await begun(stand, 1)
    waits = stand.connect("connect 1")
    scans.cancel()
    async with asyncio.timeout(10):
        await waits
    assert stand.order == ["scan 1", "connect 1"]
