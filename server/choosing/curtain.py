"""Keeps sensors that are worn nowhere out of the practice: their packets are neither recorded nor computed with.

Behind the curtain stand the sensors that stream only so that a person can choose among them, a neighbour's included.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from sensors.events import BatteryLevel, LinkChange, RawPacket, SensorInfo, SensorPlaced, SourceEvent, TrimSet
from sensors.ids import Role, SensorId

_Held = LinkChange | BatteryLevel | TrimSet


@dataclass(slots=True)
class _Behind:
    """What is known of a sensor behind the curtain, for when it steps out: the newest of each kind."""

    link: LinkChange | None = None
    battery: BatteryLevel | None = None
    trim: TrimSet | None = None

    def note(self, event: SourceEvent) -> None:
        match event:
            case LinkChange():
                self.link = event
            case BatteryLevel():
                self.battery = event
            case TrimSet():
                self.trim = event
            case _:
                pass

    @property
    def held(self) -> tuple[_Held, ...]:
        return tuple(event for event in (self.link, self.battery, self.trim) if event is not None)


class Curtain:
    """`passed` gives what of an event is for the practice: itself, nothing, or itself and what was held back before."""

    def __init__(self) -> None:
        self._behind: dict[SensorId, _Behind] = {}
        self._worn: set[SensorId] = set()

    def passed(self, event: SourceEvent) -> tuple[SourceEvent, ...]:
        """Take in every event of a source, in order."""
        match event:
            case SensorPlaced(role=Role.SPARE) if event.sensor not in self._worn:
                self._behind.setdefault(event.sensor, _Behind())
                return ()
            case SensorInfo(role=Role.SPARE):
                shown = self._shown(event)
                self._worn.discard(event.sensor)
                self._behind.setdefault(event.sensor, _Behind())
                return shown
            case SensorPlaced() | SensorInfo():
                self._worn.add(event.sensor)
                behind = self._behind.pop(event.sensor, None)
                held = behind.held if behind is not None else ()
                return (event, *(replace(one, arrival_ns=event.arrival_ns) for one in held))
            case RawPacket() | LinkChange() | BatteryLevel() | TrimSet():
                return self._shown(event)
            case _:
                return (event,)

    def _shown(self, event: RawPacket | SensorInfo | LinkChange | BatteryLevel | TrimSet) -> tuple[SourceEvent, ...]:
        behind = self._behind.get(event.sensor)
        if behind is None:
            return (event,)
        behind.note(event)
        return ()
