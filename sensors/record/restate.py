"""What a file that goes on in the middle of a practice must say first, so that it can be read by itself."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from sensors.events import (
    BatteryLevel,
    LinkChange,
    PlayerSet,
    RecordingResumed,
    SensorInfo,
    SignalStrength,
    SourceEvent,
    TrimSet,
)
from sensors.ids import SensorId

_OfSensor = SensorInfo | LinkChange | TrimSet | BatteryLevel | SignalStrength
_ORDER = (SensorInfo, TrimSet, SignalStrength, BatteryLevel, LinkChange)
"""An introduction comes before anything else of its sensor."""


@dataclass(slots=True)
class Restated:
    """Remembers the newest event of each kind that holds until the next one."""

    _player: PlayerSet | None = None
    _of_sensor: dict[SensorId, dict[type[_OfSensor], _OfSensor]] = field(default_factory=dict)

    def note(self, event: SourceEvent) -> None:
        """Take in an event that has been recorded."""
        if isinstance(event, PlayerSet):
            self._player = event
        elif isinstance(event, _OfSensor):
            self._of_sensor.setdefault(event.sensor, {})[type(event)] = event

    def opening(self, at_ns: int) -> tuple[SourceEvent, ...]:
        """Give the first events of a file that goes on at `at_ns`; the last one marks where its own part begins."""
        kept: list[SourceEvent] = [self._player] if self._player is not None else []
        for events in self._of_sensor.values():
            kept += [events[kind] for kind in _ORDER if kind in events]
        resumed = RecordingResumed(arrival_ns=at_ns, n_missed=0, missed_s=0.0)
        return (*(replace(event, arrival_ns=at_ns) for event in kept), resumed)
