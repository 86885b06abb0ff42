"""A source with the stored calibration of each sensor in its stream, so that a recording holds it and a replay repeats it."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from types import TracebackType
from typing import Self

from sensors.events import SensorInfo, SourceEvent, TrimSet
from sensors.ids import SensorId
from sensors.sources.base import Controls, Source, controls_of
from sensors.trim import Trim


class TrimmedSource:
    """Passes everything on; a `TrimSet` follows the *first* introduction of each sensor for which `find` knows a trim.

    Not the later ones: a sensor that comes back may have been calibrated anew meanwhile.
    """

    def __init__(self, source: Source, find: Callable[[SensorId], Trim | None]) -> None:
        self._source = source
        self._find = find
        self._introduced: set[SensorId] = set()

    @property
    def controls(self) -> Controls | None:
        """Those of the source within."""
        return controls_of(self._source)

    async def __aenter__(self) -> Self:
        await self._source.__aenter__()
        return self

    async def __aexit__(
        self, exc_type: type[BaseException] | None, exc: BaseException | None, tb: TracebackType | None
    ) -> None:
        await self._source.__aexit__(exc_type, exc, tb)

    async def __aiter__(self) -> AsyncIterator[SourceEvent]:
        async for event in self._source:
            yield event
            if isinstance(event, SensorInfo) and event.sensor not in self._introduced:
                self._introduced.add(event.sensor)
                trim = self._find(event.sensor)
                if trim is not None:
                    yield TrimSet(arrival_ns=event.arrival_ns, sensor=event.sensor, trim=trim)
