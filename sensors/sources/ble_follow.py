"""One sensor, for as long as the source is open: find it, stream, wait as its trouble deserves, find it again."""

from __future__ import annotations

import asyncio
import logging

from bleak.backends.device import BLEDevice

from sensors.events import LinkChange, LinkReason, LinkState, SignalStrength
from sensors.ids import Role, SensorId
from sensors.sources.backoff import Backoff
from sensors.sources.ble_errors import TROUBLE, scan_reason
from sensors.sources.ble_link import Link
from sensors.sources.ble_scan import Finder, Radio
from sensors.sources.event_queue import EventQueue

_log = logging.getLogger(__name__)


class Follower:
    """`await run()` never returns; cancel it. Only bugs escape."""

    def __init__(self, radio: Radio, finder: Finder, sensor: SensorId, role: Role, queue: EventQueue) -> None:
        self._radio = radio
        self._finder = finder
        self._sensor = sensor
        self._role = role
        self._queue = queue
        self._backoff = Backoff(scale=radio.timing.backoff_scale)
        self._said: LinkReason | None = None

    async def run(self) -> None:
        """Follow the sensor until cancelled."""
        while True:
            device = await self._search()
            self._say_signal()
            end = await Link(self._radio, self._sensor, self._role, self._queue).run(device)
            self._said = None
            if end.streamed_s >= self._radio.timing.steady_s:
                self._backoff.forget()
            await asyncio.sleep(self._backoff.next_delay_s(end.reason))

    async def _search(self) -> BLEDevice:
        """Scan until the sensor is heard, through whatever the radio of this machine goes through meanwhile."""
        loop = asyncio.get_running_loop()
        since_s = loop.time()
        if self._said is None:
            self._say(LinkReason.NONE)
        while True:
            try:
                device = await self._finder.find(self._sensor)
            except TROUBLE as error:
                _log.debug("cannot scan", exc_info=True)
                reason = scan_reason(error)
                self._say(reason)
                await asyncio.sleep(self._backoff.next_delay_s(reason))
                since_s = loop.time()
                continue
            if device is not None:
                return device
            if loop.time() - since_s >= self._radio.timing.not_found_s:
                self._say(LinkReason.NOT_FOUND)

    def _say_signal(self) -> None:
        rssi_dbm = self._finder.take_rssi_dbm(self._sensor)
        if rssi_dbm is not None:
            self._queue.put(SignalStrength(arrival_ns=self._queue.stamp_ns(), sensor=self._sensor, rssi_dbm=rssi_dbm))

    def _say(self, reason: LinkReason) -> None:
        """Report the search when there is news."""
        if reason is not self._said:
            self._said = reason
            self._queue.put(
                LinkChange(
                    arrival_ns=self._queue.stamp_ns(), sensor=self._sensor, state=LinkState.SEARCHING, reason=reason
                )
            )
