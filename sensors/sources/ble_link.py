"""One connection to one sensor, from connecting to its end."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Final

from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.device import BLEDevice

from sensors.errors import RadioError
from sensors.events import BatteryLevel, LinkChange, LinkReason, LinkState, RawPacket, SensorInfo
from sensors.ids import Role, SensorId
from sensors.sources.ble_errors import TROUBLE, connect_reason
from sensors.sources.ble_gatt import SensorClient, WrongDevice
from sensors.sources.ble_scan import Radio
from sensors.sources.event_queue import EventQueue
from sensors.sources.stray_cancellation import no_stray_cancellation

_log = logging.getLogger(__name__)

_STALL_S: Final = 0.1
"""A timer that fires so late was held up by this program, or by the computer."""
_AFTER_STALL_S: Final = 1.0
"""Then packets that came meanwhile get so long to be taken in before a sensor is called silent."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkEnd:
    """How a link ended."""

    reason: LinkReason
    streamed_s: float
    """Seconds from its first packet to its last."""


class Link:
    """Used once: `await Link(...).run(device)`, and another one for the next connection."""

    def __init__(
        self,
        radio: Radio,
        sensor: SensorId,
        role: Role,
        queue: EventQueue,
        *,
        why_dropped: Callable[[], LinkReason] = lambda: LinkReason.DROPPED,
        introduced: Callable[[str], None] = lambda _: None,
    ) -> None:
        self.battery_pct: int | None = None
        """The last level that the sensor told."""
        self._why_dropped = why_dropped
        self._introduced = introduced
        self._client: SensorClient | None = None
        self._info: SensorInfo | None = None
        self._radio = radio
        self._sensor = sensor
        self._role = role
        self._queue = queue
        self._over = False
        self._first_s: float | None = None
        self._last_s = 0.0

    def place(self, role: Role) -> None:
        """It is worn elsewhere from now on: a sensor that has introduced itself does so again."""
        self._role = role
        if self._info is not None and not self._over:
            self._info = replace(self._info, role=role, arrival_ns=self._queue.stamp_ns())
            self._queue.put(self._info)

    async def blink(self) -> None:
        """Have the sensor show itself, while it streams. Raises `RadioError`."""
        if self._client is None or self._over or self._info is None:
            raise RadioError(LinkReason.CONNECT_FAILED, self._sensor)
        try:
            async with asyncio.timeout(self._radio.timing.prepare_s):
                can_blink = await self._client.identify()
        except TROUBLE as error:
            raise RadioError(connect_reason(error), str(error)) from error
        if not can_blink:
            raise RadioError(LinkReason.NO_BLINK, self._sensor)

    async def run(self, device: BLEDevice, *, after: LinkReason = LinkReason.NONE) -> LinkEnd:
        """Connect and stream until the link fails. LOST is reported at once, then the connection is released.

        `after` is what stood in the way before, and still may.
        """
        client = self._client = SensorClient(self._radio, device)
        try:
            reason = await self._stream(client, device.name or "", after)
            if reason is LinkReason.DROPPED:
                reason = self._why_dropped()
            self._over = True
            self._say(LinkState.LOST, reason)
        finally:
            self._over = True
            await client.release()
        streamed_s = 0.0 if self._first_s is None else self._last_s - self._first_s
        return LinkEnd(reason=reason, streamed_s=streamed_s)

    async def _stream(self, client: SensorClient, name: str, after: LinkReason) -> LinkReason:
        try:
            self._say(LinkState.CONNECTING, after)
            with no_stray_cancellation():
                await client.connect()
                async with asyncio.timeout(self._radio.timing.prepare_s):
                    await self._prepare(client, name)
            return await self._until_lost(client)
        except WrongDevice:
            return LinkReason.WRONG_DEVICE
        except TROUBLE as error:
            _log.debug("link to %s failed", self._sensor, exc_info=True)
            return LinkReason.DROPPED if client.dropped.is_set() else connect_reason(error)

    async def _prepare(self, client: SensorClient, name: str) -> None:
        client.check()
        firmware = await client.read_firmware()
        name = name or await client.read_model() or self._sensor
        self._info = SensorInfo(
            firmware=firmware,
            name=name,
            sensor=self._sensor,
            role=self._role,
            profile=client.profile.name,
            profile_text=client.profile.text,
            arrival_ns=self._queue.stamp_ns(),
        )
        self._queue.put(self._info)
        self._introduced(name)
        self._battery(await client.read_battery())
        await client.start(on_data=self._on_data, on_battery=self._on_battery)

    async def _until_lost(self, client: SensorClient) -> LinkReason:
        loop = asyncio.get_running_loop()
        started_s, awake_s = loop.time(), float("-inf")
        while not client.dropped.is_set():
            heard_s = self._last_s if self._first_s is not None else started_s
            due_s = max(heard_s + self._radio.timing.silent_s, awake_s + _AFTER_STALL_S)
            if due_s <= loop.time():
                return LinkReason.SILENT
            with suppress(TimeoutError):
                async with asyncio.timeout_at(due_s):
                    await client.dropped.wait()
            if loop.time() > due_s + _STALL_S:
                awake_s = loop.time()  # this program was busy, or asleep: what came meanwhile is still to be taken in
        return LinkReason.DROPPED

    def _on_data(self, _: BleakGATTCharacteristic, payload: bytearray) -> None:
        if self._over:
            return
        try:
            arrival_ns = self._queue.stamp_ns()
            self._last_s = asyncio.get_running_loop().time()
            if self._first_s is None:
                self._first_s = self._last_s
                self._put_link(arrival_ns, LinkState.STREAMING)
            self._queue.put(RawPacket(arrival_ns=arrival_ns, sensor=self._sensor, payload=bytes(payload)))
        except Exception as bug:  # noqa: BLE001 - the caller is a library's dispatcher, which would only log it
            self._queue.close(bug)

    def _on_battery(self, _: BleakGATTCharacteristic, value: bytearray) -> None:
        if self._over:
            return
        try:
            self._battery(value[0] if value else None)
        except Exception as bug:  # noqa: BLE001 - see above
            self._queue.close(bug)

    def _battery(self, battery_pct: int | None) -> None:
        if battery_pct is not None and 0 <= battery_pct <= 100:
            self.battery_pct = battery_pct
            self._queue.put(
                BatteryLevel(arrival_ns=self._queue.stamp_ns(), sensor=self._sensor, battery_pct=battery_pct)
            )

    def _say(self, state: LinkState, reason: LinkReason = LinkReason.NONE) -> None:
        self._put_link(self._queue.stamp_ns(), state, reason)

    def _put_link(self, arrival_ns: int, state: LinkState, reason: LinkReason = LinkReason.NONE) -> None:
        self._queue.put(LinkChange(arrival_ns=arrival_ns, sensor=self._sensor, state=state, reason=reason))
