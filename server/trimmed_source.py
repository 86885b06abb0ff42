"""A source with the stored calibration of each sensor in its stream, so that a recording holds it and a replay repeats it."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable

from sensors.events import SensorInfo, SourceEvent, TrimSet
from sensors.ids import SensorId
from sensors.sources.base import Source
from sensors.trim import Trim
from server.source_within import SourceWithin


class TrimmedSource(SourceWithin):
    """Passes everything on; a `TrimSet` follows the *first* introduction of each sensor for which `find` knows a trim.

    Not the later ones: a sensor that comes back may have been calibrated anew meanwhile.
    """

    def __init__(self, source: Source, find: Callable[[SensorId], Trim | None]) -> None:
        super().__init__(source)
        self._find = find
        self._introduced: set[SensorId] = set()

    async def __aiter__(self) -> AsyncIterator[SourceEvent]:
        async for event in self._source:
            yield event
            if isinstance(event, SensorInfo) and event.sensor not in self._introduced:
                self._introduced.add(event.sensor)
                trim = self._find(event.sensor)
                if trim is not None:
                    yield TrimSet(arrival_ns=event.arrival_ns, sensor=event.sensor, trim=trim)
