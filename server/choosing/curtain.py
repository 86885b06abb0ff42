"""Keeps sensors that are worn nowhere out of the practice: their packets are neither recorded nor computed with.

Behind the curtain stand the sensors that stream only so that a person can choose among them, a neighbour's included.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from sensors.events import RawPacket, SensorInfo, SensorPlaced, SourceEvent
from sensors.ids import Role, SensorId

_NOT_HELD: Final = (RawPacket, SensorInfo)
"""Packets were not meant for the practice; an introduction comes again, with the place."""


class Curtain:
    """`passed` gives what of an event is for the practice: itself, nothing, or itself and what was held back before."""

    def __init__(self) -> None:
        self._behind: dict[SensorId, dict[type[SourceEvent], SourceEvent]] = {}
        """By sensor behind the curtain, the newest of each kind of news, for when it steps out."""
        self._worn: set[SensorId] = set()

    def passed(self, event: SourceEvent) -> tuple[SourceEvent, ...]:
        """Take in every event of a source, in order."""
        match event:
            case SensorPlaced(role=Role.SPARE) if event.sensor not in self._worn:
                self._behind.setdefault(event.sensor, {})
                return ()
            case SensorInfo(role=Role.SPARE):
                shown = self._shown(event, event.sensor)
                self._worn.discard(event.sensor)
                self._behind.setdefault(event.sensor, {})
                return shown
            case SensorPlaced() | SensorInfo():
                self._worn.add(event.sensor)
                held = self._behind.pop(event.sensor, {}).values()
                return (event, *(replace(one, arrival_ns=event.arrival_ns) for one in held))
            case _:
                sensor: SensorId | None = getattr(event, "sensor", None)
                return (event,) if sensor is None else self._shown(event, sensor)

    def _shown(self, event: SourceEvent, sensor: SensorId) -> tuple[SourceEvent, ...]:
        behind = self._behind.get(sensor)
        if behind is None:
            return (event,)
        if not isinstance(event, _NOT_HELD):
            behind.pop(type(event), None)
            behind[type(event)] = event
        return ()
