"""A source with what is remembered of the player in its stream, so that a recording holds it and a replay repeats it."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable

from sensors.events import HabitSet, SensorInfo, SourceEvent
from sensors.habit import Habit
from sensors.ids import PAIR, Role, SensorId
from sensors.sources.base import Source
from server.source_within import SourceWithin

Find = Callable[[SensorId, SensorId], Habit | None]
"""What is known of the player with this forearm sensor and this club sensor."""


class HabitSource(SourceWithin):
    """Passes everything on; a `HabitSet` follows once, when both sensors of the pair have introduced themselves."""

    def __init__(self, source: Source, find: Find) -> None:
        super().__init__(source)
        self._find = find
        self._pair: dict[Role, SensorId] = {}
        self._told = False

    async def __aiter__(self) -> AsyncIterator[SourceEvent]:
        async for event in self._source:
            yield event
            if not isinstance(event, SensorInfo) or event.role not in PAIR or self._told:
                continue
            self._pair[event.role] = event.sensor
            if len(self._pair) == len(PAIR):
                self._told = True
                habit = self._find(self._pair[Role.FOREARM], self._pair[Role.CLUB])
                if habit is not None:
                    yield HabitSet(arrival_ns=event.arrival_ns, habit=habit)
