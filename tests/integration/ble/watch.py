"""Reads a source in the background, so that a test can wait for what should come."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

from sensors.events import BatteryLevel, LinkChange, LinkReason, LinkState, RawPacket, SensorInfo, SourceEvent
from sensors.ids import SensorId
from sensors.profiles.open_imu import unpack
from sensors.sources.base import Source

_PATIENCE_S = 20.0
"""Only a test that fails waits this long."""


class Watch:
    def __init__(self) -> None:
        self.events: list[SourceEvent] = []
        self._news = asyncio.Event()
        self._reader: asyncio.Task[None] | None = None

    async def read(self, source: Source) -> None:
        try:
            async for event in source:
                self.events.append(event)
                self._news.set()
        finally:
            self._news.set()

    async def until(self, wanted: Callable[[], bool]) -> None:
        """Wait until `wanted()` holds; raises what the source raises."""
        try:
            async with asyncio.timeout(_PATIENCE_S):
                while not wanted():
                    if self._reader is not None and self._reader.done():
                        self._reader.result()
                        raise AssertionError(f"the source ended first, after {self.events[-5:]}")
                    self._news.clear()
                    await self._news.wait()
        except TimeoutError:
            links = [event for event in self.events if not isinstance(event, RawPacket)]
            raise AssertionError(
                f"never came; {len(self.events)} events, the last but packets: {links[-12:]}"
            ) from None

    async def packets_of(self, sensor: SensorId, n: int) -> None:
        """Wait for `n` packets more of a sensor."""
        goal = len(self.sequences(sensor)) + n
        await self.until(lambda: len(self.sequences(sensor)) >= goal)

    async def packets_of_any(self, sensor: SensorId, n: int) -> None:
        """Wait for `n` packets more of a sensor of any kind."""
        goal = len(self.packets(sensor)) + n
        await self.until(lambda: len(self.packets(sensor)) >= goal)

    async def link(self, sensor: SensorId, state: LinkState, reason: LinkReason = LinkReason.NONE) -> None:
        """Wait for a link change, from the beginning of the watch."""
        await self.until(lambda: (state, reason) in self.links(sensor))

    def links(self, sensor: SensorId) -> list[tuple[LinkState, LinkReason]]:
        return [(e.state, e.reason) for e in self.events if isinstance(e, LinkChange) and e.sensor == sensor]

    def packets(self, sensor: SensorId) -> list[RawPacket]:
        return [e for e in self.events if isinstance(e, RawPacket) and e.sensor == sensor]

    def sequences(self, sensor: SensorId) -> list[int]:
        return [unpack(packet.payload).sequence for packet in self.packets(sensor)]

    def infos(self, sensor: SensorId) -> list[SensorInfo]:
        return [e for e in self.events if isinstance(e, SensorInfo) and e.sensor == sensor]

    def batteries(self, sensor: SensorId) -> list[int]:
        return [e.battery_pct for e in self.events if isinstance(e, BatteryLevel) and e.sensor == sensor]


@asynccontextmanager
async def watching(source: Source) -> AsyncIterator[Watch]:
    watch = Watch()
    async with source:
        watch._reader = asyncio.create_task(watch.read(source))
        try:
            yield watch
        finally:
            watch._reader.cancel()
            await asyncio.wait({watch._reader})
