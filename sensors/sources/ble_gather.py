"""Looks for sensors of any address, for as long as a person is choosing among them."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable
from contextlib import suppress

from bleak import BleakScanner
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData

from sensors.events import LinkReason
from sensors.ids import SensorId
from sensors.profiles.match import heard_profile, service_filter
from sensors.sources.backoff import Backoff
from sensors.sources.ble_errors import TROUBLE
from sensors.sources.ble_scan import Finder, Radio
from sensors.sources.ble_system import scan_trouble

_log = logging.getLogger(__name__)


class Gatherer:
    """`await run()` never returns; cancel it.

    `found` is told of every sensor heard, again and again, and says whether that one is followed from now on.
    """

    def __init__(self, radio: Radio, finder: Finder, found: Callable[[SensorId], bool]) -> None:
        self.trouble = LinkReason.NONE
        """Why it cannot look, if so."""
        self._radio = radio
        self._finder = finder
        self._found = found
        self._known: set[str] = set()

    async def run(self) -> None:
        """Scan in rounds, with rests between them: a scan takes air time from those that stream."""
        timing = self._radio.timing
        backoff = Backoff(scale=timing.backoff_scale)
        while True:
            try:
                async with self._radio.turns.to_scan(), asyncio.timeout(timing.longest_scan_s):
                    devices = await self._round()
            except TROUBLE as error:
                _log.debug("cannot scan", exc_info=True)
                self.trouble = await scan_trouble(error)
                await asyncio.sleep(backoff.next_delay_s(self.trouble))
                continue
            self.trouble = LinkReason.NONE
            backoff.forget()
            for device, advertises in devices:
                self._known.add(device.address.lower())
                # Not one that streams already: its next search must not take this for news. Nor one that is connected, by
                # whomever: the search for it finds out.
                if self._found(SensorId(device.address)) and advertises:
                    self._finder.offer(device)
            await asyncio.sleep(timing.gather_rest_s if self._known else 0.0)

    async def _round(self) -> list[tuple[BLEDevice, bool]]:
        """Listen until a while after the first that was not known before; give each, and whether it advertises."""
        heard: dict[str, tuple[BLEDevice, bool]] = {}
        news = asyncio.Event()

        def note(device: BLEDevice, *, advertises: bool) -> None:
            key = device.address.lower()
            heard[key] = device, advertises
            if key not in self._known:
                news.set()

        profiles = self._radio.profiles

        def advertised(device: BLEDevice, advertisement: AdvertisementData) -> None:
            if heard_profile(profiles, advertisement.service_uuids, advertisement.local_name or "") is None:
                return  # a stranger: not everything that is heard is a sensor
            self._finder.note_signal(SensorId(device.address), advertisement.rssi)
            note(device, advertises=True)

        for device in await self._finder.left_connected():
            note(device, advertises=False)
        timing = self._radio.timing
        async with BleakScanner(advertised, service_filter(profiles), backend=self._radio.scanner_backend):
            with suppress(TimeoutError):
                async with asyncio.timeout(timing.scan_round_s):
                    await news.wait()
                    await asyncio.sleep(timing.gather_s)
        return list(heard.values())
