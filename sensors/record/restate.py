"""What a file that goes on in the middle of a practice must say first, so that it can be read by itself."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from sensors.events import (
    BatteryLevel,
    DrillSet,
    HabitSet,
    LinkChange,
    LookAheadSet,
    PauseSet,
    PlayerSet,
    RecordingResumed,
    SecondDrillSet,
    SensorInfo,
    SignalStrength,
    SourceEvent,
    TrimSet,
)
from sensors.ids import SensorId

_OfSensor = SensorInfo | LinkChange | TrimSet | BatteryLevel | SignalStrength
_OfPlayer = PlayerSet | HabitSet | DrillSet | SecondDrillSet | LookAheadSet | PauseSet
_ORDER = (SensorInfo, TrimSet, SignalStrength, BatteryLevel, LinkChange)
"""An introduction comes before anything else of its sensor."""


@dataclass(slots=True)
class Restated:
    """Remembers the newest event of each kind that holds until the next one."""

    _of_player: dict[type[_OfPlayer], _OfPlayer] = field(default_factory=dict)
    _of_sensor: dict[SensorId, dict[type[_OfSensor], _OfSensor]] = field(default_factory=dict)

    def note(self, event: SourceEvent) -> None:
        """Take in an event that has been recorded."""
        if isinstance(event, _OfPlayer):
            self._of_player[type(event)] = event
        elif isinstance(event, _OfSensor):
            self._of_sensor.setdefault(event.sensor, {})[type(event)] = event

    def opening(self, at_ns: int) -> tuple[SourceEvent, ...]:
        """Give the first events of a file that goes on at `at_ns`; the last one marks where its own part begins."""
        kept: list[SourceEvent] = [*self._of_player.values()]
        for events in self._of_sensor.values():
            kept += [events[kind] for kind in _ORDER if kind in events]
        resumed = RecordingResumed(arrival_ns=at_ns, n_missed=0, missed_s=0.0)
        return (*(replace(event, arrival_ns=at_ns) for event in kept), resumed)
