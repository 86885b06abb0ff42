"""A recording as a source: the same events at the same pace, so that nothing downstream can tell it from the radio."""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator, Awaitable, Callable, Generator, Iterable, Iterator
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from sensors.events import LinkChange, LinkReason, LinkState, MoveStart, RawPacket, SensorInfo, SourceEvent
from sensors.ids import SensorId
from sensors.record.reader import ReadReport, read_events, read_head
from sensors.sources.pace import Pace

_BREATH_EVENTS: Final = 32
"""Events given without waiting before the other tasks of the program get a turn."""


class ReplaySource:
    """Plays a recording once: `async with ReplaySource(path) as source: async for event in source`.

    Events keep their recorded `arrival_ns`, so every number comes out as it did live. At the end each sensor's link is
    reported STOPPED. Entering raises `RecordingError` for a file that is no recording; damage inside it goes to `report`.

    `hurry_fit` takes everything before the last fit move at once, so that a viewer need not wait for it.
    `speed` 2 plays twice as fast, 0 as fast as it can be taken. `clock_s` and `sleep` stand in for time in tests.
    """

    def __init__(
        self,
        path: Path,
        *,
        speed: float = 1.0,
        hurry_fit: bool = False,
        clock_s: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], Awaitable[None]] = asyncio.sleep,
    ) -> None:
        if not 0.0 <= speed < float("inf"):
            raise ValueError(f"speed must be 0 or more, not {speed}")
        self.path = path
        self.report = ReadReport()
        self._speed = speed
        self._hurry_fit = hurry_fit
        self._clock_s = clock_s
        self._sleep = sleep
        self._events: Generator[SourceEvent] | None = None

    async def __aenter__(self) -> Self:
        read_head(self.path)
        return self

    async def __aexit__(
        self, exc_type: type[BaseException] | None, exc: BaseException | None, tb: TracebackType | None
    ) -> None:
        if self._events is not None:
            self._events.close()  # and with it the file, if iteration was left early

    async def __aiter__(self) -> AsyncIterator[SourceEvent]:
        sensors: dict[SensorId, None] = {}  # in order of appearance
        last_ns = 0
        hurry_ns = last_move_ns(self.path) if self._hurry_fit else 0
        waiting = _Waiting(self._speed, self._clock_s, self._sleep, hurry_ns)
        self._events = read_events(self.path, report=self.report)
        for event in self._events:
            await waiting.until(event.arrival_ns)
            if isinstance(event, SensorInfo | RawPacket):
                sensors[event.sensor] = None
            last_ns = event.arrival_ns
            yield event
        for stopped in links_stopped(sensors, last_ns):
            yield stopped


def last_move_ns(path: Path) -> int:
    """When the last fit move of a recording began; 0 without any."""
    return max((event.arrival_ns for event in read_events(path) if isinstance(event, MoveStart)), default=0)


def links_stopped(sensors: Iterable[SensorId], at_ns: int) -> Iterator[LinkChange]:
    """Say of each sensor that nothing more comes of it: the recording is over."""
    for sensor in sensors:
        yield LinkChange(arrival_ns=at_ns, sensor=sensor, state=LinkState.STOPPED, reason=LinkReason.END_OF_RECORDING)


class _Waiting:
    """Waits for each event to be due, and lets the other tasks of the program have a turn."""

    def __init__(
        self, speed: float, clock_s: Callable[[], float], sleep: Callable[[float], Awaitable[None]], from_ns: int
    ) -> None:
        self._speed = speed
        self._from_ns = from_ns
        """Everything earlier is due at once."""
        self._pace = Pace(clock_s)
        self._sleep = sleep
        self._has_begun = False
        self._n_unwaited = 0

    async def until(self, arrival_ns: int) -> None:
        """Return when the event that arrived at `arrival_ns` is due."""
        if not self._has_begun or arrival_ns < self._from_ns:
            self._pace.start(arrival_ns, self._speed)
            self._has_begun = True
        wait_s = self._pace.wait_s(arrival_ns)
        self._n_unwaited += 1
        if wait_s > 0.0 or self._n_unwaited >= _BREATH_EVENTS:
            self._n_unwaited = 0
            await self._sleep(wait_s)
