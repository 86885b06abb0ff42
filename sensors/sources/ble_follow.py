"""One sensor, for as long as it is wanted: find it, stream, wait as its trouble deserves, find it again."""

from __future__ import annotations

import asyncio
import logging
from typing import Final

from bleak.backends.device import BLEDevice

from sensors.errors import RadioError
from sensors.events import OF_THE_MACHINE, LinkChange, LinkReason, LinkState, SensorPlaced, SignalStrength
from sensors.ids import Role, SensorId
from sensors.sources.absence import Evidence, absence_reason, drop_reason
from sensors.sources.backoff import Backoff
from sensors.sources.ble_errors import TROUBLE
from sensors.sources.ble_link import Link
from sensors.sources.ble_shared import SharedRadio
from sensors.sources.ble_system import scan_trouble
from sensors.sources.event_queue import EventQueue
from sensors.sources.sensor_lock import SensorLock

_log = logging.getLogger(__name__)

_DROPS: Final = frozenset(
    {LinkReason.DROPPED, LinkReason.OUT_OF_RANGE, LinkReason.SWITCHED_OFF, LinkReason.BATTERY_EMPTY}
)


class Follower:
    """`await run()` never returns; cancel it. Only bugs escape."""

    def __init__(self, shared: SharedRadio, queue: EventQueue, *, sensor: SensorId, role: Role) -> None:
        self.sensor = sensor
        self.role = role
        self.name = ""
        """What the sensor calls itself; empty before it has said so."""
        self._radio = shared.radio
        self._finder = shared.finder
        self._farewells = shared.farewells
        self._queue = queue
        self._backoff = Backoff(scale=self._radio.timing.backoff_scale)
        self._lock = SensorLock(sensor, self._radio.lock_folder)
        self._link: Link | None = None
        self._battery_pct: int | None = None
        self._said: LinkReason | None = None
        self._left = False

    def place(self, role: Role) -> None:
        """It is worn elsewhere from now on; the stream goes on."""
        if role is self.role:
            return
        self.role = role
        self._say_place()
        if self._link is not None:
            self._link.place(role)

    def leave(self) -> None:
        """It is no longer wanted, and says so as it ends."""
        self._left = True

    async def blink(self) -> None:
        """Have the sensor show itself. Raises `RadioError`."""
        if self._link is None:
            raise RadioError(LinkReason.NOT_FOUND, self.sensor)
        await self._link.blink()

    async def run(self) -> None:
        """Follow the sensor until cancelled."""
        self._say_place()
        try:
            await self._own()
            reason = LinkReason.NONE
            while True:
                device = await self._search(reason)
                self._say_signal()
                reason = await self._stream(device, reason)
        finally:
            self._lock.release()
            if self._left:
                self._put(LinkState.STOPPED, LinkReason.NONE)

    async def _own(self) -> None:
        """Wait until no other program of this machine uses the sensor."""
        while not self._lock.take():
            self._say(LinkReason.IN_USE)
            await asyncio.sleep(self._backoff.next_delay_s(LinkReason.IN_USE))

    async def _stream(self, device: BLEDevice, before: LinkReason) -> LinkReason:
        """Stream until the link ends, wait, and give the reason of the end."""
        self._farewells.forget(self.sensor)
        link = self._link = Link(
            self._radio, self.sensor, self.role, self._queue, why_dropped=self._why_dropped, introduced=self._introduced
        )
        link.battery_pct = self._battery_pct
        try:
            # What stood in the way goes on being said until it no longer does. A sensor that is heard again is good news.
            end = await link.run(device, after=LinkReason.NONE if before in _DROPS else before)
        finally:
            self._link = None
            self._battery_pct = link.battery_pct
        self._said = None
        if end.streamed_s >= self._radio.timing.steady_s:
            self._backoff.forget()
        await asyncio.sleep(self._backoff.next_delay_s(end.reason))
        return self._why_dropped() if end.reason in _DROPS else end.reason

    async def _search(self, reason: LinkReason) -> BLEDevice:
        """Scan until the sensor is heard, through whatever the radio of this machine goes through meanwhile.

        `reason` is why it has to be looked for.
        """
        loop = asyncio.get_running_loop()
        since_s = loop.time()
        self._say(reason)
        stuck = False
        while True:
            try:
                device = await self._finder.find(self.sensor)
            except TROUBLE as error:
                _log.debug("cannot scan", exc_info=True)
                trouble = await scan_trouble(error)
                # A search that fails once is tried again without a word.
                if trouble is not LinkReason.ADAPTER_STUCK or stuck:
                    self._say(trouble)
                stuck = trouble is LinkReason.ADAPTER_STUCK
                await asyncio.sleep(self._backoff.next_delay_s(trouble))
                since_s = loop.time()
                continue
            stuck = False
            if device is not None:
                return device
            if self._finder.is_held(self.sensor):
                self._say(LinkReason.IN_USE)
                since_s = loop.time()
                continue
            if loop.time() - since_s >= self._radio.timing.not_found_s:
                self._say(absence_reason(self._evidence()))
            elif self._said in OF_THE_MACHINE:
                self._say(LinkReason.NONE)  # that is cured

    def _introduced(self, name: str) -> None:
        self.name = name

    def _why_dropped(self) -> LinkReason:
        return drop_reason(self._evidence())

    def _evidence(self) -> Evidence:
        link = self._link
        return Evidence(
            weak=self._finder.signal(self.sensor).is_weak(asyncio.get_running_loop().time()),
            battery_pct=link.battery_pct if link is not None else self._battery_pct,
            ended_by=self._farewells.last(self.sensor),
        )

    def _say_signal(self) -> None:
        rssi_dbm = self._finder.take_rssi_dbm(self.sensor)
        if rssi_dbm is not None:
            self._queue.put(SignalStrength(arrival_ns=self._queue.stamp_ns(), sensor=self.sensor, rssi_dbm=rssi_dbm))

    def _say(self, reason: LinkReason) -> None:
        """Report the search when there is news."""
        if reason is not self._said:
            self._said = reason
            self._put(LinkState.SEARCHING, reason)

    def _say_place(self) -> None:
        self._queue.put(SensorPlaced(arrival_ns=self._queue.stamp_ns(), sensor=self.sensor, role=self.role))

    def _put(self, state: LinkState, reason: LinkReason) -> None:
        self._queue.put(LinkChange(arrival_ns=self._queue.stamp_ns(), sensor=self.sensor, state=state, reason=reason))
