"""Who is followed in one bay, and where each is worn: changed by a person while everything streams on."""

from __future__ import annotations

import asyncio
from collections.abc import Iterable, Mapping
from typing import Final

from sensors.errors import RadioError
from sensors.events import LinkReason
from sensors.ids import Role, SensorId
from sensors.sources.base import WornElsewhere
from sensors.sources.ble_follow import Follower
from sensors.sources.ble_gather import Gatherer
from sensors.sources.ble_shared import SharedRadio
from sensors.sources.event_queue import EventQueue

MOST_LINKS: Final = 6
"""No further sensor is streamed from for choosing when all bays together have so many. Ordinary adapters carry seven or so."""
LEAST_SPARE: Final = 2
"""So many are, however many are worn: the last pair has to be chosen too."""


class Cast:
    """Call `begin` within the task group that all followers are to run in, and `end` after it; between them it can follow."""

    def __init__(self, shared: SharedRadio, queue: EventQueue, *, bay: str = "") -> None:
        self.begun = asyncio.Event()
        self._shared = shared
        self._queue = queue
        self._bay = bay
        self._tasks: asyncio.TaskGroup | None = None
        self._followed: dict[str, tuple[Follower, asyncio.Task[None]]] = {}
        self._leaving: dict[str, asyncio.Task[None]] = {}
        self._wants_to_gather = False
        self._turn = asyncio.Event()
        self._gathering: tuple[Gatherer, asyncio.Task[None]] | None = None

    @property
    def trouble(self) -> LinkReason:
        """Why it cannot look for sensors of any address, if it should."""
        return self._gathering[0].trouble if self._gathering is not None else LinkReason.NONE

    @property
    def waits_for(self) -> str | None:
        """See `sensors.sources.base.Controls.waits_for`."""
        return self._shared.waits_for(self)

    @property
    def worn_elsewhere(self) -> tuple[WornElsewhere, ...]:
        """See `sensors.sources.base.Controls.worn_elsewhere`."""
        return self._shared.worn_elsewhere(self)

    @property
    def n_followed(self) -> int:
        """See `sensors.sources.ble_shared.Sharer`, also for the next five."""
        return len(self._followed)

    @property
    def worn(self) -> tuple[WornElsewhere, ...]:
        """Its sensors that have a place."""
        followers = [follower for follower, _ in self._followed.values() if follower.role is not Role.SPARE]
        return tuple(WornElsewhere(sensor=one.sensor, name=one.name, bay=self._bay) for one in followers)

    def holds(self, sensor: SensorId) -> bool:
        """Whether it follows a sensor, or is still taking leave of it."""
        key = sensor.lower()
        return key in self._followed or (key in self._leaving and not self._leaving[key].done())

    def wears(self, sensor: SensorId) -> bool:
        """Whether that sensor has a place."""
        known = self._followed.get(sensor.lower())
        return known is not None and known[0].role is not Role.SPARE

    def let_go(self, sensor: SensorId) -> None:
        """Leave a sensor without a place to another bay."""
        known = self._followed.get(sensor.lower())
        if known is not None:
            self._leave(known[0])

    def turn_changed(self) -> None:
        """Another bay has begun or ended to gather."""
        self._turn.set()

    def begin(self, tasks: asyncio.TaskGroup) -> None:
        """Followers run in `tasks` from now on."""
        self._tasks = tasks
        tasks.create_task(self._mind_turn(), name="ble turn")
        self._shared.join(self)
        self.begun.set()

    def end(self) -> None:
        """All followers have ended."""
        if self._tasks is not None:
            self._tasks = None
            self._wants_to_gather = False
            self._gathering = None
            self._shared.leave(self)
            self._followed.clear()

    def place(self, roles: Mapping[SensorId, Role]) -> None:
        """See `sensors.sources.base.Controls.place`."""
        self._have(sensor for sensor, role in roles.items() if role is not Role.SPARE)
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
        self._wants_to_gather = on
        if on:
            self._shared.ask_turn(self, self._bay)
        else:
            self._shared.end_turn(self)
        self._gather_in_turn()

    async def blink(self, sensor: SensorId) -> None:
        """Have a sensor that is followed show itself. Raises `RadioError`."""
        known = self._followed.get(sensor.lower())
        if known is None:
            raise RadioError(LinkReason.NOT_FOUND, sensor)
        await known[0].blink()

    async def _mind_turn(self) -> None:
        while True:
            await self._turn.wait()
            self._turn.clear()
            self._gather_in_turn()

    def _gather_in_turn(self) -> None:
        may = self._wants_to_gather and self._shared.has_turn(self)
        if may and self._gathering is None:
            gatherer = Gatherer(self._shared.radio, self._shared.finder, self._found)
            self._gathering = gatherer, self._group().create_task(gatherer.run(), name="ble gather")
        elif not may and self._gathering is not None:
            self._gathering[1].cancel()
            self._gathering = None
            for follower, _ in list(self._followed.values()):
                if follower.role is Role.SPARE:
                    self._leave(follower)

    def _have(self, sensors: Iterable[SensorId]) -> None:
        """Make sure that no other bay has any of them. Raises `RadioError` when one is worn there."""
        holders = [(sensor, self._shared.holder(sensor, self)) for sensor in sensors]
        for sensor, holder in holders:
            if holder is not None and holder.wears(sensor):
                raise RadioError(LinkReason.IN_USE, sensor)
        for sensor, holder in holders:
            if holder is not None:
                holder.let_go(sensor)

    def _found(self, sensor: SensorId) -> bool:
        """Follow a sensor that is in reach, if it is new, nobody else's, and there is room."""
        if sensor.lower() in self._followed or self._shared.holder(sensor, self) is not None:
            return False
        n_spare = sum(follower.role is Role.SPARE for follower, _ in self._followed.values())
        if self._shared.n_followed >= MOST_LINKS and n_spare >= LEAST_SPARE:
            return False
        self._follow(sensor, Role.SPARE)
        return True

    def _take_off(self, follower: Follower) -> None:
        follower.place(Role.SPARE)
        if self._gathering is None:
            self._leave(follower)

    def _follow(self, sensor: SensorId, role: Role) -> None:
        follower = Follower(self._shared, self._queue, sensor=sensor, role=role)
        task = self._group().create_task(follower.run(), name=f"ble {sensor}")
        self._followed[sensor.lower()] = follower, task

    def _leave(self, follower: Follower) -> None:
        key = follower.sensor.lower()
        _, task = self._followed.pop(key)
        self._leaving[key] = task
        follower.leave()
        task.cancel()

    def _group(self) -> asyncio.TaskGroup:
        if self._tasks is None:
            raise RuntimeError("the source is not open")
        return self._tasks
