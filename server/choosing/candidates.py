"""The sensors in reach while a person gives out the places: how each fares, and which one is being moved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from sensors.activity import ActivityMeter, mover
from sensors.events import LinkReason, LinkState, SensorPlaced, SourceEvent
from sensors.health import SensorHealth
from sensors.ids import PAIR, Role, SensorId
from sensors.ingest import Ingest
from sensors.readings import ImuBlock

_UNSEEN: Final = (LinkState.STOPPED,)


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One sensor in reach."""

    health: SensorHealth
    level_rad_s: float
    """How fast it has been turning of late."""
    moving: bool
    """This one, and no other, is being moved."""

    @property
    def is_unread(self) -> bool:
        """It is worn on the pair, and sends nothing for a reason that is known."""
        health = self.health
        silent = health.state is not LinkState.STREAMING and health.reason is not LinkReason.NONE
        return silent and health.role in PAIR


class Candidates:
    """Push every event of the source in; ask `at` a moment."""

    def __init__(self) -> None:
        self._ingest = Ingest()
        self._meters: dict[SensorId, ActivityMeter] = {}
        self._order: dict[SensorId, Role] = {}
        """In order of appearance, so that nothing jumps about on the screen."""
        self._mover: SensorId | None = None

    @property
    def roles(self) -> dict[SensorId, Role]:
        """Where each is worn, or SPARE."""
        return dict(self._order)

    def wearer(self, role: Role) -> SensorId | None:
        """Who is worn there."""
        return next((sensor for sensor, place in self._order.items() if place is role), None)

    @property
    def wanted(self) -> Role | None:
        """Which place of the pair is to be given next."""
        return next((role for role in PAIR if self.wearer(role) is None), None)

    def push(self, event: SourceEvent) -> None:
        """Take in one event; packets only while somebody chooses (`at` will be asked)."""
        if isinstance(event, SensorPlaced):
            self._order[event.sensor] = event.role
        for item in self._ingest.push(event):
            if isinstance(item, ImuBlock):
                self._meters.setdefault(item.sensor, ActivityMeter()).push(item)

    def at(self, now_ns: int) -> tuple[Candidate, ...]:
        """Everyone at host time `now_ns`, in order of appearance; who was let go is left out."""
        by_sensor = {one.sensor: one for one in self._ingest.health(now_ns) if one.state not in _UNSEEN}
        present = [by_sensor[sensor] for sensor in self._order if sensor in by_sensor]
        levels = {one.sensor: self._level_rad_s(one.sensor, now_ns) for one in present}
        self._mover = mover(levels, self._mover)
        return tuple(
            Candidate(health=one, level_rad_s=levels[one.sensor], moving=one.sensor == self._mover) for one in present
        )

    def _level_rad_s(self, sensor: SensorId, now_ns: int) -> float:
        meter = self._meters.get(sensor)
        return meter.level_rad_s(now_ns) if meter is not None else 0.0
