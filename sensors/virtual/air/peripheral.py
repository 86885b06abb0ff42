"""A virtual sensor on a virtual controller: `await BumblePeripheral(identity, packets, air).start()`.

In place of the air it takes the HCI transport of a real controller.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Coroutine, Iterable
from typing import Final

from bumble import data_types
from bumble.att import ATT_Error, ErrorCode
from bumble.controller import Controller
from bumble.core import UUID, AdvertisingData, BaseBumbleError
from bumble.device import Connection, Device, DeviceConfiguration
from bumble.gatt import Characteristic, CharacteristicValue, Service
from bumble.hci import Address
from bumble.link import LocalLink
from bumble.transport.common import Transport

from sensors.profiles import open_imu as profile
from sensors.virtual.air.sensor import BadCommand, Identity, Settings, StartTogether, VirtualSensor
from sensors.virtual.stage.board import TimedPayload

_log = logging.getLogger(__name__)

ADVERTISING_INTERVAL_MS: Final = 50
CONNECTION_INTERVAL_MS: Final = (15.0, 30.0)
"""What the profile has a sensor ask for."""
SUPERVISION_MS: Final = 4000.0
_ADVERTISING_DATA_BYTES: Final = 31
_READ, _WRITE, _NOTIFY = (
    Characteristic.Properties.READ,
    Characteristic.Properties.WRITE,
    Characteristic.Properties.NOTIFY,
)


class BumblePeripheral:
    """One sensor: advertises, is connected, streams, advertises again. Options go to its `VirtualSensor`."""

    def __init__(
        self,
        identity: Identity,
        packets: Iterable[TimedPayload],
        air: LocalLink | Transport,
        *,
        together: StartTogether | None = None,
        settings: Settings | None = None,
        loses: Callable[[], bool] | None = None,
        identified: Callable[[], None] | None = None,
        speed: float = 1.0,
    ) -> None:
        self.sensor = VirtualSensor(
            identity, packets, self._send_samples,
            together=together, settings=settings, loses=loses, identified=identified, speed=speed,
        )  # fmt: skip
        self._connection: Connection | None = None
        self._tasks: set[asyncio.Task[None]] = set()
        self._off_s = 0.0
        self._real = isinstance(air, Transport)
        self._device = _device_on(air, identity)
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
            CharacteristicValue(write=lambda _, value: self._command(bytes(value))),
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

    async def drop(self, off_s: float = 0.0) -> None:
        """Let the link go down, and be off for so long before advertising again."""
        self._off_s = off_s
        if self._connection is not None:
            await self._connection.disconnect()

    async def set_battery(self, pct: int) -> None:
        """Change the battery level and tell whoever is subscribed."""
        self.sensor.battery_pct = pct
        await self._device.notify_subscribers(self._battery)

    async def _advertise(self) -> None:
        await self._device.start_advertising(auto_restart=False)

    def _connected(self, connection: Connection) -> None:
        self._connection = connection
        connection.on(Connection.EVENT_DISCONNECTION, self._disconnected)
        if self._real:  # the virtual controller's interval is that of its air
            self._do(self._ask_for_interval(connection))

    def _disconnected(self, _: int) -> None:
        self._connection = None
        self.sensor.disconnected()
        self._do(self._come_back())

    async def _come_back(self) -> None:
        off_s, self._off_s = self._off_s, 0.0
        await asyncio.sleep(off_s)
        await self._advertise()

    async def _ask_for_interval(self, connection: Connection) -> None:
        shortest, longest = CONNECTION_INTERVAL_MS
        try:
            await self._device.update_connection_parameters(
                connection, shortest, longest, 0, SUPERVISION_MS, use_l2cap=True
            )
        except (BaseBumbleError, TimeoutError) as error:  # the central decides; streaming works either way
            _log.info("%s: the central keeps its connection interval: %s", self.sensor.identity.name, error)

    def _do(self, work: Coroutine[None, None, None]) -> None:
        task = asyncio.create_task(work)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    def _command(self, value: bytes) -> None:
        try:
            self.sensor.command(value)
        except BadCommand:
            raise ATT_Error(ErrorCode.VALUE_NOT_ALLOWED) from None

    async def _send_samples(self, payload: bytes) -> None:
        if self._connection is not None:
            await self._device.notify_subscriber(self._connection, self._data, payload)


def _device_on(air: LocalLink | Transport, identity: Identity) -> Device:
    config = DeviceConfiguration(
        name=identity.name,
        address=Address(identity.address),
        advertising_interval_min=ADVERTISING_INTERVAL_MS,
        advertising_interval_max=ADVERTISING_INTERVAL_MS,
    )
    if isinstance(air, Transport):
        return Device.from_config_with_hci(config, air.source, air.sink)
    controller = Controller(identity.name, link=air)
    return Device.from_config_with_hci(config, controller, controller)


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
