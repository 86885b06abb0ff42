"""Who may use the adapter next: one at a time scans or connects, and who has a sensor to connect to goes first.

A scan for a sensor that is not there takes seconds, and the next one follows at once: without this order a sensor that was
found would wait for them.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager


class Turns:
    """`async with turns.to_scan()`, `async with turns.to_connect()`: each waits until nobody else does either."""

    def __init__(self) -> None:
        self._adapter = asyncio.Lock()
        self._n_to_connect = 0
        """Who waits to connect."""

    @asynccontextmanager
    async def to_connect(self) -> AsyncIterator[None]:
        """Wait for whoever scans or connects now."""
        self._n_to_connect += 1
        try:
            await self._adapter.acquire()
        finally:
            self._n_to_connect -= 1
        try:
            yield
        finally:
            self._adapter.release()

    @asynccontextmanager
    async def to_scan(self) -> AsyncIterator[None]:
        """Wait for all who want to connect as well."""
        await self._adapter.acquire()
        while self._n_to_connect:
            self._adapter.release()
            await asyncio.sleep(0)  # one of them has the adapter now, or has given up
            await self._adapter.acquire()
        try:
            yield
        finally:
            self._adapter.release()
