"""Which end let a link go, where the operating system tells: BlueZ does since it has `Device1.Disconnected`.

Elsewhere, and with an older BlueZ, nothing is ever known, and nothing else depends on it.
"""

from __future__ import annotations

import asyncio
import logging
import sys
from typing import Final

from sensors.ids import SensorId
from sensors.sources.absence import EndedBy
from sensors.sources.ble_system import NO_BUS, listen_to_farewells

_log = logging.getLogger(__name__)

_ENDED_BY: Final = {
    "org.bluez.Reason.Remote": EndedBy.SENSOR,
    "org.bluez.Reason.Timeout": EndedBy.TIMEOUT,
    "org.bluez.Reason.Local": EndedBy.THIS_MACHINE,
    "org.bluez.Reason.Suspend": EndedBy.THIS_MACHINE,
}


class Farewells:
    """`await run()` listens until cancelled; `last(sensor)` says how its latest link ended."""

    def __init__(self, *, retry_s: float = 5.0) -> None:
        self._retry_s = retry_s
        self._ended_by: dict[str, EndedBy] = {}
        self._listens = asyncio.Lock()

    def last(self, sensor: SensorId) -> EndedBy:
        """How the sensor's latest link ended, as far as it is known."""
        return self._ended_by.get(sensor.lower(), EndedBy.UNKNOWN)

    def forget(self, sensor: SensorId) -> None:
        """A new link begins: how the one before ended says nothing of it."""
        self._ended_by.pop(sensor.lower(), None)

    def note(self, path: str, reason: str) -> None:
        """Take in a signal from the object of a device, whose path ends in its address."""
        address = path.rpartition("/dev_")[2].replace("_", ":").lower()
        self._ended_by[address] = _ENDED_BY.get(reason, EndedBy.UNKNOWN)

    async def run(self) -> None:
        """Listen for as long as there is a system bus to listen on, and again when it has come back.

        Every source that shares these may run it: one listens, and the next takes over when that one ends.
        """
        if sys.platform != "linux":
            return
        async with self._listens:
            while True:
                try:
                    await listen_to_farewells(self.note)
                except NO_BUS:
                    _log.debug("cannot listen for farewells", exc_info=True)
                await asyncio.sleep(self._retry_s)
