"""A source with the stored calibration of each sensor in its stream, so that a recording holds it and a replay repeats it."""

from __future__ import annotations

from collections.abc import AsyncIterator, Mapping
from types import TracebackType
from typing import Self

from sensors.events import SensorInfo, SourceEvent, TrimSet
from sensors.ids import SensorId
from sensors.sources.base import Source
from sensors.trim import Trim


class TrimmedSource:
    """Passes everything on; a `TrimSet` follows the *first* introduction of each sensor that has a trim.

    Not the later ones: a sensor that comes back may have been calibrated anew meanwhile.
    """

    def __init__(self, source: Source, trims: Mapping[SensorId, Trim]) -> None:
        self._source = source
        self._due = dict(trims)

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
            if isinstance(event, SensorInfo):
                trim = self._due.pop(event.sensor, None)
                if trim is not None:
                    yield TrimSet(arrival_ns=event.arrival_ns, sensor=event.sensor, trim=trim)
