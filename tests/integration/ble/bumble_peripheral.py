"""A virtual sensor on a virtual controller, and the air between: `await BumblePeripheral(FOREARM, packets, air).start()`.

The class works on any Bumble link, and could stand behind a real controller as well.
"""

from __future__ import annotations

import asyncio
from collections.abc import Iterable

from bumble import data_types
from bumble.controller import Controller
from bumble.core import UUID, AdvertisingData, PhysicalTransport
from bumble.device import Connection, Device, DeviceConfiguration
from bumble.gatt import Characteristic, CharacteristicValue, Service
from bumble.hci import Address
from bumble.link import LocalLink

from sensors.profiles import open_imu as profile
from tests.integration.ble.packet_supply import TimedPayload
from tests.integration.ble.virtual_sensor import Identity, StartTogether, VirtualSensor

ADVERTISING_INTERVAL_MS = 50
_ADVERTISING_DATA_BYTES = 31
_READ, _WRITE, _NOTIFY = (
    Characteristic.Properties.READ,
    Characteristic.Properties.WRITE,
    Characteristic.Properties.NOTIFY,
)


class IntervalAir(LocalLink):
    """Carries data only at connection events, a fixed interval apart: packets come in bunches, as on the real air."""

    def __init__(self, interval_s: float) -> None:
        super().__init__()  # type: ignore[no-untyped-call]  # Bumble left this one without types
        self._interval_s = interval_s
        self._waiting: list[tuple[Controller, Address, PhysicalTransport, bytes]] = []

    def send_acl_data(
        self,
        sender_controller: Controller,
        destination_address: Address,
        transport: PhysicalTransport,
        data: bytes,
    ) -> None:
        # One queue and one timer: asyncio does not keep the order of timers that are due at the same moment.
        if not self._waiting:
            loop = asyncio.get_running_loop()
            next_event = int(loop.time() / self._interval_s) + 1
            loop.call_at(next_event * self._interval_s, self._connection_event)
        self._waiting.append((sender_controller, destination_address, transport, data))

    def _connection_event(self) -> None:
        waiting, self._waiting = self._waiting, []
        for sender, destination, transport, data in waiting:
            # A link that went down meanwhile takes what was under way with it.
            if self.find_le_controller(destination) is not None:
                super().send_acl_data(sender, destination, transport, data)


class BumblePeripheral:
    def __init__(
        self,
        identity: Identity,
        packets: Iterable[TimedPayload],
        air: LocalLink,
        *,
        together: StartTogether | None = None,
    ) -> None:
        self.sensor = VirtualSensor(identity, packets, self._send_samples, together=together)
        self._connection: Connection | None = None
        self._tasks: set[asyncio.Task[None]] = set()
        controller = Controller(identity.name, link=air)
        self._device = Device.from_config_with_hci(
            DeviceConfiguration(
                name=identity.name,
                address=Address(identity.address),
                advertising_interval_min=ADVERTISING_INTERVAL_MS,
                advertising_interval_max=ADVERTISING_INTERVAL_MS,
            ),
            controller,
            controller,
        )
        self._data = Characteristic(profile.DATA_UUID, _NOTIFY, Characteristic.Permissions(0), b"")
        self._battery: Characteristic[bytes] = Characteristic(
            profile.BATTERY_LEVEL_UUID,
            _READ | _NOTIFY,
            Characteristic.READABLE,
            CharacteristicValue(read=lambda _: bytes([self.sensor.battery_pct])),
        )
        control: Characteristic[bytes] = Characteristic(
            profile.CONTROL_UUID,
            _WRITE,
            Characteristic.WRITEABLE,
            CharacteristicValue(write=lambda _, value: self.sensor.command(bytes(value))),
        )
        texts = {
            profile.MANUFACTURER_UUID: identity.manufacturer,
            profile.MODEL_UUID: identity.model,
            profile.FIRMWARE_UUID: identity.firmware,
        }
        self._device.add_service(Service(profile.SERVICE_UUID, [self._data, control]))
        self._device.add_service(Service(profile.BATTERY_SERVICE_UUID, [self._battery]))
        self._device.add_service(
            Service(
                profile.DEVICE_INFORMATION_SERVICE_UUID,
                [Characteristic(uuid, _READ, Characteristic.READABLE, text.encode()) for uuid, text in texts.items()],
            )
        )
        self._device.advertising_data = _advertising_data(identity.name)
        self._device.on(Device.EVENT_CONNECTION, self._connected)
        self._data.on(Characteristic.EVENT_SUBSCRIPTION, lambda _, notify, __: self.sensor.notify(notify))

    async def start(self) -> None:
        """Switch on and advertise."""
        await self._device.power_on()
        await self._advertise()

    async def stop(self) -> None:
        """Switch off."""
        self.sensor.close()
        self._device.remove_listener(Device.EVENT_CONNECTION, self._connected)
        for task in self._tasks:
            task.cancel()
        await self._device.power_off()

    async def drop(self) -> None:
        """Let the link go down."""
        if self._connection is not None:
            await self._connection.disconnect()

    async def set_battery(self, pct: int) -> None:
        self.sensor.battery_pct = pct
        await self._device.notify_subscribers(self._battery)

    async def _advertise(self) -> None:
        await self._device.start_advertising(auto_restart=False)

    def _connected(self, connection: Connection) -> None:
        self._connection = connection
        connection.on(Connection.EVENT_DISCONNECTION, self._disconnected)

    def _disconnected(self, _: int) -> None:
        self._connection = None
        self.sensor.disconnected()
        task = asyncio.create_task(self._advertise())
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    async def _send_samples(self, payload: bytes) -> None:
        if self._connection is not None:
            await self._device.notify_subscriber(self._connection, self._data, payload)


def _advertising_data(name: str) -> bytes:
    data = bytes(
        AdvertisingData(
            [
                data_types.Flags(
                    AdvertisingData.Flags.LE_GENERAL_DISCOVERABLE_MODE | AdvertisingData.Flags.BR_EDR_NOT_SUPPORTED
                ),
                data_types.IncompleteListOf128BitServiceUUIDs([UUID(profile.SERVICE_UUID)]),
                data_types.CompleteLocalName(name),
            ]
        )
    )
    # Bumble's controller sends no scan response of its own, so that the name has to fit in here as well.
    if len(data) > _ADVERTISING_DATA_BYTES:
        raise ValueError(f"the name {name!r} is too long to advertise")
    return data
