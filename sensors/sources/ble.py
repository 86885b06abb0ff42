"""The sensors on the air as a source of events: finds them, streams, and finds them again whenever one is lost."""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator, Callable, Mapping, Sequence
from pathlib import Path
from types import TracebackType
from typing import Self

from bleak.backends.client import BaseBleakClient
from bleak.backends.scanner import BaseBleakScanner

from sensors.errors import RadioError
from sensors.events import LinkReason, SourceEvent
from sensors.ids import Role, SensorId
from sensors.profiles.base import Profile
from sensors.profiles.registry import PROFILES
from sensors.sources.base import Controls
from sensors.sources.ble_cast import Cast
from sensors.sources.ble_errors import TROUBLE, connect_reason
from sensors.sources.ble_gatt import SensorClient, WrongDevice
from sensors.sources.ble_scan import Finder, FoundSensor, Radio, scan
from sensors.sources.ble_shared import SharedRadio
from sensors.sources.ble_system import scan_trouble
from sensors.sources.event_queue import EventQueue
from sensors.sources.sensor_lock import SensorLock
from sensors.sources.stray_cancellation import no_stray_cancellation
from sensors.sources.timing import USUAL, RadioTiming

__all__ = ["BleSource", "FoundSensor", "SharedRadio", "identify", "scan"]


class BleSource:
    """Streams from the assigned sensors: `async with BleSource({...}) as source: async for event in source`.

    A drop, a silent sensor, a radio switched off: each is a `LinkChange`, and tried again for as long as the source is
    open, while the other sensors stream on. A bug ends the iteration with the exception that it raised.

    The sensors may be of different kinds: each is read by the first of `profiles` that fits what it offers once connected.

    While it gathers, every sensor in reach streams as well, with the role SPARE, so that a person can give out the roles
    (`controls`). Any number of sensors may be worn, one to a place.

    Several sources of one program share the adapter: give all of them the same `shared`, and each the name of its `bay`.
    Profiles, timing, locks and backends are then those of `shared`.

    `clock` stamps arrivals. `timing`, `lock_folder` and the two backends are for tests. Used once: make another to start again.
    """

    def __init__(
        self,
        assignments: Mapping[SensorId, Role],
        *,
        gather: bool = False,
        shared: SharedRadio | None = None,
        bay: str = "",
        profiles: Sequence[Profile] = tuple(PROFILES.values()),
        clock: Callable[[], int] = time.monotonic_ns,
        timing: RadioTiming = USUAL,
        max_events: int = 4096,
        lock_folder: Path | None = None,
        scanner_backend: type[BaseBleakScanner] | None = None,
        client_backend: type[BaseBleakClient] | None = None,
    ) -> None:
        if not assignments and not gather:
            raise ValueError("no sensor assigned")
        self._shared = shared or SharedRadio(
            profiles=profiles,
            timing=timing,
            scanner_backend=scanner_backend,
            client_backend=client_backend,
            lock_folder=lock_folder,
        )
        self._queue = EventQueue(clock, max_events=max_events)
        self._cast = Cast(self._shared, self._queue, bay=bay)
        self._first = (dict(assignments), gather)
        self._runner: asyncio.Task[None] | None = None

    @property
    def n_dropped(self) -> int:
        """Events thrown away because the reader was too slow. The decoder sees the packets among them as a gap."""
        return self._queue.n_dropped

    @property
    def controls(self) -> Controls:
        """Who is followed, and where each is worn."""
        return self._cast

    def note_signal(self, sensor: SensorId, rssi_dbm: int) -> None:
        """Take in a signal strength that was measured otherwise than by a scan: it tells why a link goes down."""
        self._shared.finder.note_signal(sensor, rssi_dbm)

    async def __aenter__(self) -> Self:
        if self._runner is not None:
            raise RuntimeError("this source was entered before: make another")
        self._runner = asyncio.create_task(self._run(), name="ble source")
        await self._cast.begun.wait()
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
        assignments, gather = self._first
        try:
            async with asyncio.TaskGroup() as tasks:
                self._cast.begin(tasks)
                if self._shared.radio.client_backend is None:
                    tasks.create_task(self._shared.farewells.run(), name="ble farewells")
                self._cast.place(assignments)
                self._cast.gather(on=gather)
                await asyncio.Event().wait()  # until cancelled, also while nobody is followed
        except BaseExceptionGroup as group:
            bug = _first(group)
        finally:
            self._cast.end()
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
    lock = SensorLock(sensor, radio.lock_folder)
    if not lock.take():
        raise RadioError(LinkReason.IN_USE, sensor)
    try:
        return await _identify(radio, sensor)
    finally:
        lock.release()


async def _identify(radio: Radio, sensor: SensorId) -> bool:
    try:
        device = await Finder(radio).find(sensor)
    except TROUBLE as error:
        raise RadioError(await scan_trouble(error), str(error)) from error
    if device is None:
        raise RadioError(LinkReason.NOT_FOUND, sensor)
    client = SensorClient(radio, device)
    try:
        with no_stray_cancellation():
            await client.connect()
            return await client.identify()
    except WrongDevice:
        raise RadioError(LinkReason.WRONG_DEVICE, sensor) from None
    except TROUBLE as error:
        raise RadioError(connect_reason(error), str(error)) from error
    finally:
        await client.release()
