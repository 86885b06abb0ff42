"""Who is followed, and where each is worn: changed by a person while everything streams on."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from typing import Final

from sensors.errors import RadioError
from sensors.events import LinkReason
from sensors.ids import Role, SensorId
from sensors.sources.ble_farewell import Farewells
from sensors.sources.ble_follow import Follower
from sensors.sources.ble_gather import Gatherer
from sensors.sources.ble_scan import Finder, Radio
from sensors.sources.event_queue import EventQueue

MOST_GATHERED: Final = 6
"""Sensors streamed from at once while choosing. Ordinary adapters carry seven links or so."""


class Cast:
    """Call `begin` within the task group that all followers are to run in; before it nothing can be followed."""

    def __init__(self, radio: Radio, finder: Finder, farewells: Farewells, queue: EventQueue) -> None:
        self.begun = asyncio.Event()
        self._radio = radio
        self._finder = finder
        self._farewells = farewells
        self._queue = queue
        self._tasks: asyncio.TaskGroup | None = None
        self._followed: dict[str, tuple[Follower, asyncio.Task[None]]] = {}
        self._gathering: tuple[Gatherer, asyncio.Task[None]] | None = None

    @property
    def trouble(self) -> LinkReason:
        """Why it cannot look for sensors of any address, if it should."""
        return self._gathering[0].trouble if self._gathering is not None else LinkReason.NONE

    def begin(self, tasks: asyncio.TaskGroup) -> None:
        """Followers run in `tasks` from now on."""
        self._tasks = tasks
        self.begun.set()

    def place(self, roles: Mapping[SensorId, Role]) -> None:
        """See `sensors.sources.base.Controls.place`."""
        given = {sensor.lower() for sensor in roles}
        wanted = set(roles.values()) - {Role.SPARE}
        for key, (follower, _) in list(self._followed.items()):
            if key not in given and follower.role in wanted:
                self._take_off(follower)
        for sensor, role in roles.items():
            known = self._followed.get(sensor.lower())
            if known is None:
                if role is not Role.SPARE:
                    self._follow(sensor, role)
            elif role is Role.SPARE:
                self._take_off(known[0])
            else:
                known[0].place(role)

    def gather(self, *, on: bool) -> None:
        """See `sensors.sources.base.Controls.gather`."""
        if on and self._gathering is None:
            gatherer = Gatherer(self._radio, self._finder, self._found)
            self._gathering = gatherer, self._group().create_task(gatherer.run(), name="ble gather")
        elif not on and self._gathering is not None:
            self._gathering[1].cancel()
            self._gathering = None
            for follower, _ in list(self._followed.values()):
                if follower.role is Role.SPARE:
                    self._leave(follower)

    async def blink(self, sensor: SensorId) -> None:
        """Have a sensor that is followed show itself. Raises `RadioError`."""
        known = self._followed.get(sensor.lower())
        if known is None:
            raise RadioError(LinkReason.NOT_FOUND, sensor)
        await known[0].blink()

    def _found(self, sensor: SensorId) -> bool:
        """Follow a sensor that is in reach, if it is new and there is room."""
        if sensor.lower() in self._followed or len(self._followed) >= MOST_GATHERED:
            return False
        self._follow(sensor, Role.SPARE)
        return True

    def _take_off(self, follower: Follower) -> None:
        follower.place(Role.SPARE)
        if self._gathering is None:
            self._leave(follower)

    def _follow(self, sensor: SensorId, role: Role) -> None:
        follower = Follower(self._radio, self._finder, self._farewells, self._queue, sensor=sensor, role=role)
        task = self._group().create_task(follower.run(), name=f"ble {sensor}")
        self._followed[sensor.lower()] = follower, task

    def _leave(self, follower: Follower) -> None:
        _, task = self._followed.pop(follower.sensor.lower())
        follower.leave()
        task.cancel()

    def _group(self) -> asyncio.TaskGroup:
        if self._tasks is None:
            raise RuntimeError("the source is not open")
        return self._tasks
