"""What is said to one sensor over a connection: its profile found, its identity read, its stream started."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from contextlib import suppress

from bleak import BleakClient
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.device import BLEDevice
from bleak.exc import BleakGATTProtocolError

from sensors.profiles.assigned import DEVICE_INFORMATION_SERVICE_UUID, FIRMWARE_UUID, MODEL_UUID
from sensors.profiles.base import Profile
from sensors.profiles.write import Write
from sensors.sources.ble_errors import TROUBLE
from sensors.sources.ble_scan import Radio
from sensors.sources.stray_cancellation import no_stray_cancellation

Notified = Callable[[BleakGATTCharacteristic, bytearray], None]


class WrongDevice(Exception):
    """It lacks what every profile needs."""


class SensorClient:
    """A `BleakClient` that knows the profiles. Used once, and always released: see `release`."""

    def __init__(self, radio: Radio, device: BLEDevice) -> None:
        self.dropped = asyncio.Event()
        """Set when the connection is gone, whoever ended it."""
        self._started = False
        self._radio = radio
        self._profile: Profile | None = None
        self._client = BleakClient(
            device,
            lambda _: self.dropped.set(),
            _services(radio.profiles),
            timeout=radio.timing.connect_s,
            backend=radio.client_backend,
        )

    @property
    def profile(self) -> Profile:
        """The profile it speaks: the first that fits what it offers. Raises `WrongDevice` when none does."""
        if self._profile is None:
            self._profile = next((profile for profile in self._radio.profiles if self._speaks(profile)), None)
        if self._profile is None:
            raise WrongDevice
        return self._profile

    async def connect(self) -> None:
        """Connect and discover services, while no one else scans or connects."""
        async with self._radio.turns.to_connect(), asyncio.timeout(self._radio.timing.connect_s):
            await self._client.connect()

    def check(self) -> None:
        """Raise `WrongDevice` unless it can do what one of the profiles needs."""
        _ = self.profile

    async def read_firmware(self) -> str:
        """Firmware revision; empty when it does not say."""
        return await self._text(FIRMWARE_UUID)

    async def read_model(self) -> str:
        """Model number; empty when it does not say."""
        return await self._text(MODEL_UUID)

    async def read_battery(self) -> int | None:
        """Battery level as the sensor puts it; None when it does not say."""
        battery = self.profile.battery
        value = (await self._value(self._battery()))[battery.offset :] if battery is not None else b""
        return value[0] if value else None

    async def start(self, *, on_data: Notified, on_battery: Notified) -> None:
        """Write settings that are not the device's own, subscribe, and start the stream."""
        profile = self.profile
        battery = self._battery()
        if profile.battery is not None and battery is not None and "notify" in battery.properties:
            offset = profile.battery.offset
            await self._subscribe(battery, lambda sender, value: on_battery(sender, value[offset:]))
        await self._write(profile.setting_writes)
        data = self._find(profile.service_uuid, profile.data_uuid)
        if data is None:
            raise WrongDevice
        await self._subscribe(data, on_data)
        self._started = True
        await self._write(profile.start_writes)

    async def identify(self) -> bool:
        """Make it show itself; False for a kind that cannot."""
        writes = self.profile.values(self.profile.commands.identify)
        await self._write(writes)
        return bool(writes)

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
                        await self._write(self.profile.values(self.profile.commands.stop))
        finally:
            with suppress(*TROUBLE), no_stray_cancellation():
                async with asyncio.timeout(limit_s):
                    await self._client.disconnect()

    async def _write(self, writes: Sequence[tuple[Write, bytes]]) -> None:
        """Write in order; where a response is wanted, wait until the sensor has taken it."""
        for write, value in writes:
            target = self._target(write)
            if target is None:
                raise WrongDevice
            response = "write" in target.properties and (
                write.response or "write-without-response" not in target.properties
            )
            await self._client.write_gatt_char(target, value, response=response)

    async def _subscribe(self, characteristic: BleakGATTCharacteristic, notified: Notified) -> None:
        # StartNotify queues in D-Bus when this program is slow; AcquireNotify, the other way, loses packets then.
        await self._client.start_notify(characteristic, notified, bluez={"use_start_notify": True})

    def _speaks(self, profile: Profile) -> bool:
        """Tell whether it can notify samples and take every write but the one to show itself, which it may do without."""
        data = self._find(profile.service_uuid, profile.data_uuid)
        if data is None or not {"notify", "indicate"}.intersection(data.properties):
            return False
        return all(self._target(write) is not None for write in profile.needed_writes)

    def _target(self, write: Write) -> BleakGATTCharacteristic | None:
        for service in self._client.services:
            found = service.get_characteristic(write.characteristic_uuid)
            if found is not None and {"write", "write-without-response"}.intersection(found.properties):
                return found
        return None

    def _battery(self) -> BleakGATTCharacteristic | None:
        battery = self.profile.battery
        return None if battery is None else self._find(battery.service_uuid, battery.level_uuid)

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


def _services(profiles: Sequence[Profile]) -> list[str]:
    """Every service that any of them uses: some systems discover no others."""
    own = {uuid for profile in profiles for uuid in profile.service_uuids}
    batteries = {profile.battery.service_uuid for profile in profiles if profile.battery is not None}
    return [*sorted(own | batteries), DEVICE_INFORMATION_SERVICE_UUID]
