"""What is said to one sensor over a connection: its services checked, its identity read, its stream started."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextlib import suppress

from bleak import BleakClient
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.device import BLEDevice
from bleak.exc import BleakGATTProtocolError

from sensors.profiles.open_imu import (
    BATTERY_LEVEL_UUID,
    BATTERY_SERVICE_UUID,
    DEVICE_INFORMATION_SERVICE_UUID,
    FIRMWARE_UUID,
    MODEL_UUID,
)
from sensors.sources.ble_errors import TROUBLE
from sensors.sources.ble_scan import Radio
from sensors.sources.stray_cancellation import no_stray_cancellation

Notified = Callable[[BleakGATTCharacteristic, bytearray], None]


class WrongDevice(Exception):
    """It lacks what its profile needs."""


class SensorClient:
    """A `BleakClient` that knows the profile. Used once, and always released: see `release`."""

    def __init__(self, radio: Radio, device: BLEDevice) -> None:
        self.dropped = asyncio.Event()
        """Set when the connection is gone, whoever ended it."""
        self._started = False
        self._radio = radio
        self._client = BleakClient(
            device,
            lambda _: self.dropped.set(),
            [radio.profile.service_uuid, BATTERY_SERVICE_UUID, DEVICE_INFORMATION_SERVICE_UUID],
            timeout=radio.timing.connect_s,
            backend=radio.client_backend,
        )

    async def connect(self) -> None:
        """Connect and discover services, while no one else scans or connects."""
        async with self._radio.lock, asyncio.timeout(self._radio.timing.connect_s):
            await self._client.connect()

    def check(self) -> None:
        """Raise `WrongDevice` unless it can notify samples and take commands."""
        self._data()
        self._control()

    async def read_firmware(self) -> str:
        """Firmware revision; empty when it does not say."""
        return await self._text(FIRMWARE_UUID)

    async def read_model(self) -> str:
        """Model number; empty when it does not say."""
        return await self._text(MODEL_UUID)

    async def read_battery(self) -> int | None:
        """Battery level as the sensor puts it; None when it does not say."""
        value = await self._value(self._find(BATTERY_SERVICE_UUID, BATTERY_LEVEL_UUID))
        return value[0] if value else None

    async def start(self, *, on_data: Notified, on_battery: Notified) -> None:
        """Subscribe and start the stream."""
        battery = self._find(BATTERY_SERVICE_UUID, BATTERY_LEVEL_UUID)
        if battery is not None and "notify" in battery.properties:
            await self._subscribe(battery, on_battery)
        await self._subscribe(self._data(), on_data)
        self._started = True
        await self.command(self._radio.profile.start_command)

    async def command(self, command: bytes) -> None:
        """Write a command, and wait until the sensor has taken it."""
        await self._client.write_gatt_char(self._control(), command, response=True)

    async def release(self) -> None:
        """Stop the stream if it still runs, and disconnect.

        Also after a drop: only this frees the client's hold on the operating system's side. A client that is merely
        forgotten stays subscribed there, and after the next connection every notification comes twice.
        """
        limit_s = self._radio.timing.release_s
        try:
            if self._started and self._client.is_connected:
                with suppress(WrongDevice, *TROUBLE), no_stray_cancellation():
                    async with asyncio.timeout(limit_s):
                        await self.command(self._radio.profile.stop_command)
        finally:
            with suppress(*TROUBLE), no_stray_cancellation():
                async with asyncio.timeout(limit_s):
                    await self._client.disconnect()

    async def _subscribe(self, characteristic: BleakGATTCharacteristic, notified: Notified) -> None:
        # StartNotify queues in D-Bus when this program is slow; AcquireNotify, the other way, loses packets then.
        await self._client.start_notify(characteristic, notified, bluez={"use_start_notify": True})

    def _data(self) -> BleakGATTCharacteristic:
        profile = self._radio.profile
        return _able(self._find(profile.service_uuid, profile.data_uuid), "notify")

    def _control(self) -> BleakGATTCharacteristic:
        profile = self._radio.profile
        return _able(self._find(profile.service_uuid, profile.control_uuid), "write")

    async def _text(self, uuid: str) -> str:
        value = await self._value(self._find(DEVICE_INFORMATION_SERVICE_UUID, uuid))
        return value.decode(errors="replace").strip("\0 ")

    async def _value(self, characteristic: BleakGATTCharacteristic | None) -> bytearray:
        if characteristic is None or "read" not in characteristic.properties:
            return bytearray()
        try:
            return await self._client.read_gatt_char(characteristic)
        except BleakGATTProtocolError:  # the sensor answered, with a no: it does without
            return bytearray()

    def _find(self, service_uuid: str, uuid: str) -> BleakGATTCharacteristic | None:
        for service in self._client.services:
            if service.uuid == service_uuid:
                characteristic = service.get_characteristic(uuid)
                if characteristic is not None:
                    return characteristic
        return None


def _able(characteristic: BleakGATTCharacteristic | None, what: str) -> BleakGATTCharacteristic:
    if characteristic is None or what not in characteristic.properties:
        raise WrongDevice
    return characteristic
