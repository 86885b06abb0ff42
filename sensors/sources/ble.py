"""The sensors on the air as a source of events: finds them, streams, and finds them again whenever one is lost."""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator, Callable, Mapping, Sequence
from types import TracebackType
from typing import Self

from bleak.backends.client import BaseBleakClient
from bleak.backends.scanner import BaseBleakScanner

from sensors.errors import RadioError
from sensors.events import LinkReason, SourceEvent
from sensors.ids import Role, SensorId
from sensors.profiles.base import Profile
from sensors.profiles.registry import PROFILES
from sensors.sources.ble_errors import TROUBLE, connect_reason, scan_reason
from sensors.sources.ble_follow import Follower
from sensors.sources.ble_gatt import SensorClient, WrongDevice
from sensors.sources.ble_scan import Finder, FoundSensor, Radio, scan
from sensors.sources.event_queue import EventQueue
from sensors.sources.timing import USUAL, RadioTiming

__all__ = ["BleSource", "FoundSensor", "identify", "scan"]


class BleSource:
    """Streams from the assigned sensors: `async with BleSource({...}) as source: async for event in source`.

    A drop, a silent sensor, a radio switched off: each is a `LinkChange`, and tried again for as long as the source is
    open, while the other sensors stream on. A bug ends the iteration with the exception that it raised.

    The sensors may be of different kinds: each is read by the first of `profiles` that fits what it offers once connected.

    `clock` stamps arrivals. `timing` and the two backends are for tests. Used once: make another to start again.
    """

    def __init__(
        self,
        assignments: Mapping[SensorId, Role],
        *,
        profiles: Sequence[Profile] = tuple(PROFILES.values()),
        clock: Callable[[], int] = time.monotonic_ns,
        timing: RadioTiming = USUAL,
        max_events: int = 4096,
        scanner_backend: type[BaseBleakScanner] | None = None,
        client_backend: type[BaseBleakClient] | None = None,
    ) -> None:
        if not assignments:
            raise ValueError("no sensor assigned")
        self._assignments = dict(assignments)
        self._radio = Radio(
            profiles=tuple(profiles), timing=timing, scanner_backend=scanner_backend, client_backend=client_backend
        )
        self._finder = Finder(self._radio)
        self._queue = EventQueue(clock, max_events=max_events)
        self._runner: asyncio.Task[None] | None = None

    @property
    def n_dropped(self) -> int:
        """Events thrown away because the reader was too slow. The decoder sees the packets among them as a gap."""
        return self._queue.n_dropped

    async def __aenter__(self) -> Self:
        if self._runner is not None:
            raise RuntimeError("this source was entered before: make another")
        self._runner = asyncio.create_task(self._run(), name="ble source")
        return self

    async def __aexit__(
        self, exc_type: type[BaseException] | None, exc: BaseException | None, tb: TracebackType | None
    ) -> None:
        if self._runner is not None:
            self._runner.cancel()
            await asyncio.wait({self._runner})  # stops the streams and disconnects
        bug = self._queue.take_bug()
        if bug is not None and exc is None:
            raise bug

    async def __aiter__(self) -> AsyncIterator[SourceEvent]:
        while (event := await self._queue.get()) is not None:
            yield event

    async def _run(self) -> None:
        bug: BaseException | None = None
        try:
            async with asyncio.TaskGroup() as tasks:
                for sensor, role in self._assignments.items():
                    follower = Follower(self._radio, self._finder, sensor, role, self._queue)
                    tasks.create_task(follower.run(), name=f"ble {role}")
        except BaseExceptionGroup as group:
            bug = _first(group)
        finally:
            self._queue.close(bug)


def _first(group: BaseExceptionGroup[BaseException]) -> BaseException:
    """Give the first exception itself: whoever iterates knows nothing of the tasks behind."""
    error = group.exceptions[0]
    return _first(error) if isinstance(error, BaseExceptionGroup) else error


async def identify(
    sensor: SensorId,
    *,
    profiles: Sequence[Profile] = tuple(PROFILES.values()),
    timing: RadioTiming = USUAL,
    scanner_backend: type[BaseBleakScanner] | None = None,
    client_backend: type[BaseBleakClient] | None = None,
) -> bool:
    """Make a sensor show itself (a blink); False for a kind that cannot. Not while a source streams from it.

    Raises `RadioError`.
    """
    radio = Radio(
        profiles=tuple(profiles), timing=timing, scanner_backend=scanner_backend, client_backend=client_backend
    )
    try:
        device = await Finder(radio).find(sensor)
    except TROUBLE as error:
        raise RadioError(scan_reason(error), str(error)) from error
    if device is None:
        raise RadioError(LinkReason.NOT_FOUND, sensor)
    client = SensorClient(radio, device)
    try:
        await client.connect()
        return await client.identify()
    except WrongDevice:
        raise RadioError(LinkReason.WRONG_DEVICE, sensor) from None
    except TROUBLE as error:
        raise RadioError(connect_reason(error), str(error)) from error
    finally:
        await client.release()
