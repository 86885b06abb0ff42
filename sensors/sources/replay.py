"""A recording as a source: the same events at the same pace, so that nothing downstream can tell it from the radio."""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator, Awaitable, Callable, Generator
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from sensors.events import LinkChange, LinkReason, LinkState, MoveStart, RawPacket, SensorInfo, SourceEvent
from sensors.ids import SensorId
from sensors.record.reader import ReadReport, read_events, read_head

_BREATH_EVENTS: Final = 32
"""Events given without waiting before the other tasks of the program get a turn."""
_FORGIVEN_S: Final = 1.0
"""Later than this (the lid was closed, the speed is out of reach), the lost time is let go instead of rushed after."""


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
        pace = _Pace(self._speed, self._clock_s, self._sleep, self._last_move_ns() if self._hurry_fit else 0)
        self._events = read_events(self.path, report=self.report)
        for event in self._events:
            await pace.until(event.arrival_ns)
            if isinstance(event, SensorInfo | RawPacket):
                sensors[event.sensor] = None
            last_ns = event.arrival_ns
            yield event
        for sensor in sensors:
            yield LinkChange(
                arrival_ns=last_ns, sensor=sensor, state=LinkState.STOPPED, reason=LinkReason.END_OF_RECORDING
            )

    def _last_move_ns(self) -> int:
        """When the last fit move began; 0 without any."""
        return max((e.arrival_ns for e in read_events(self.path) if isinstance(e, MoveStart)), default=0)


class _Pace:
    """Deadlines on one straight line, so that waiting errors never add up."""

    def __init__(
        self, speed: float, clock_s: Callable[[], float], sleep: Callable[[float], Awaitable[None]], from_ns: int
    ) -> None:
        self._speed = speed
        self._from_ns = from_ns
        """Everything earlier is due at once."""
        self._clock_s = clock_s
        self._sleep = sleep
        self._first_ns: int | None = None
        self._start_s = 0.0
        self._n_unwaited = 0

    async def until(self, arrival_ns: int) -> None:
        """Return when the event that arrived at `arrival_ns` is due."""
        if self._first_ns is None or arrival_ns < self._from_ns:
            self._first_ns = arrival_ns
            self._start_s = self._clock_s()
        wait_s = 0.0
        if self._speed > 0.0:
            due_s = self._start_s + (arrival_ns - self._first_ns) * 1e-9 / self._speed
            wait_s = due_s - self._clock_s()
            if wait_s < -_FORGIVEN_S:
                self._start_s -= wait_s
        self._n_unwaited += 1
        if wait_s > 0.0 or self._n_unwaited >= _BREATH_EVENTS:
            self._n_unwaited = 0
            await self._sleep(max(0.0, wait_s))
