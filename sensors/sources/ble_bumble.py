"""A bleak backend on a Bumble device, so that bleak's public layer runs over a virtual controller, on any system.

radio = await BumbleRadio.open(link)
scanner_backend, client_backend = backends_on(radio)
BleakScanner(backend=scanner_backend); BleakClient(device, backend=client_backend)
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from typing import Any, ClassVar, Self, TypeVar

from bleak.args import SizedBuffer
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.client import BaseBleakClient, NotifyCallback
from bleak.backends.descriptor import BleakGATTDescriptor
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData, BaseBleakScanner
from bleak.backends.service import BleakGATTService, BleakGATTServiceCollection
from bleak.exc import BleakDeviceNotFoundError, BleakError, BleakGATTProtocolError
from bleak.uuids import normalize_uuid_str
from bumble.att import ATT_Error
from bumble.controller import Controller
from bumble.core import UUID, AdvertisingData, BaseBumbleError, PhysicalTransport
from bumble.device import Advertisement, Connection, Device, DeviceConfiguration, Peer
from bumble.gatt_client import CharacteristicProxy
from bumble.hci import Address
from bumble.link import LocalLink

ATT_MTU = 247
_SERVICE_LISTS = (
    AdvertisingData.COMPLETE_LIST_OF_128_BIT_SERVICE_CLASS_UUIDS,
    AdvertisingData.INCOMPLETE_LIST_OF_128_BIT_SERVICE_CLASS_UUIDS,
    AdvertisingData.COMPLETE_LIST_OF_16_BIT_SERVICE_CLASS_UUIDS,
    AdvertisingData.INCOMPLETE_LIST_OF_16_BIT_SERVICE_CLASS_UUIDS,
)
Answer = TypeVar("Answer")


def _uuid(uuid: UUID) -> str:
    return normalize_uuid_str(uuid.to_hex_str("-").lower())


class BumbleRadio:
    """The central's side: one virtual controller, used by any number of scanners and clients."""

    def __init__(self, device: Device) -> None:
        self.device = device
        self.connecting = asyncio.Lock()
        """A Bumble device has one pending connection at most."""
        self._n_scanners = 0

    @classmethod
    async def open(cls, link: LocalLink, address: str = "F0:F0:F0:F0:F0:F0") -> Self:
        """Put a central on the link."""
        controller = Controller("central", link=link)
        config = DeviceConfiguration(name="central", address=Address(address))
        device = Device.from_config_with_hci(config, controller, controller)
        await device.power_on()
        return cls(device)

    async def scanner_came(self, *, active: bool) -> None:
        """Scan for one more."""
        self._n_scanners += 1
        if self._n_scanners == 1:
            await self.device.start_scanning(legacy=True, active=active, filter_duplicates=False)

    async def scanner_left(self) -> None:
        """Scan for one less."""
        self._n_scanners -= 1
        if self._n_scanners == 0:
            await self.device.stop_scanning(legacy=True)


class BumbleScanner(BaseBleakScanner):
    """What `BleakScanner` needs of a backend."""

    radio: ClassVar[BumbleRadio]

    def __init__(self, detection_callback: Any, service_uuids: Any, scanning_mode: str, **_: Any) -> None:
        super().__init__(detection_callback, service_uuids)
        self._active = scanning_mode == "active"

    async def start(self) -> None:
        self.seen_devices = {}
        self.radio.device.on(Device.EVENT_ADVERTISEMENT, self._heard)
        await self.radio.scanner_came(active=self._active)

    async def stop(self) -> None:
        self.radio.device.remove_listener(Device.EVENT_ADVERTISEMENT, self._heard)
        await self.radio.scanner_left()

    def _heard(self, advertisement: Advertisement) -> None:
        data = advertisement.data
        uuids: list[str] = []
        for kind in _SERVICE_LISTS:
            for found in data.get_all(kind):
                if isinstance(found, list):  # of UUIDs, as it is for these kinds
                    uuids += map(_uuid, found)
        if not self.is_allowed_uuid(uuids):
            return
        name = data.get(AdvertisingData.COMPLETE_LOCAL_NAME) or data.get(AdvertisingData.SHORTENED_LOCAL_NAME)
        told = AdvertisementData(name, {}, {}, uuids, None, advertisement.rssi, (advertisement,))
        address = advertisement.address.to_string(with_type_qualifier=False)
        self.call_detection_callbacks(
            self.create_or_update_device(address, address, name, advertisement.address, told), told
        )


class BumbleClient(BaseBleakClient):
    """What `BleakClient` needs of a backend; pairing and descriptors, which no sensor here has, are left out."""

    radio: ClassVar[BumbleRadio]

    def __init__(
        self, address_or_ble_device: BLEDevice | str, services: set[str] | None = None, **options: Any
    ) -> None:
        super().__init__(
            address_or_ble_device,
            disconnected_callback=options["disconnected_callback"],
            timeout=options["timeout"],
        )
        if not isinstance(address_or_ble_device, BLEDevice):
            raise BleakDeviceNotFoundError(address_or_ble_device, "scan first, then connect to what was found")
        self._device = address_or_ble_device
        self._requested_services = services
        self._connection: Connection | None = None
        self._subscribers: dict[int, Callable[[bytes], None]] = {}

    @property
    def name(self) -> str:
        return self._device.name or self.address.replace(":", "-")

    @property
    def mtu_size(self) -> int:
        return self._connection.att_mtu if self._connection else 23

    @property
    def is_connected(self) -> bool:
        return self._connection is not None

    async def connect(self, pair: bool, **_: Any) -> None:
        if pair:
            raise NotImplementedError
        async with asyncio.timeout(self._timeout):
            async with self.radio.connecting:
                self._connection = await _translated(
                    self.radio.device.connect(self._device.details, transport=PhysicalTransport.LE, timeout=None)
                )
            try:
                self._connection.on(Connection.EVENT_DISCONNECTION, self._went_down)
                peer = Peer(self._connection)
                # Asked on a link that is already down, Bumble would wait half a minute for the answer.
                await _translated(self._connection.cancel_on_disconnection(_discover(peer)))
                self.services = self._collect(peer)
            except BaseException:
                await self.disconnect()
                raise

    async def disconnect(self) -> None:
        if self._connection is not None:
            await _translated(self._connection.disconnect())

    async def pair(self, *_: Any, **__: Any) -> None:
        raise NotImplementedError

    async def unpair(self) -> None:
        raise NotImplementedError

    async def read_gatt_char(self, characteristic: BleakGATTCharacteristic, **_: Any) -> bytearray:
        self._must_be_connected()
        return bytearray(await _translated(_proxy(characteristic).read_value()))

    async def write_gatt_char(self, characteristic: BleakGATTCharacteristic, data: SizedBuffer, response: bool) -> None:
        self._must_be_connected()
        await _translated(_proxy(characteristic).write_value(bytes(data), with_response=response))

    async def start_notify(self, characteristic: BleakGATTCharacteristic, callback: NotifyCallback, **_: Any) -> None:
        self._must_be_connected()

        def notified(value: bytes) -> None:
            callback(bytearray(value))

        await _translated(_proxy(characteristic).subscribe(notified))
        self._subscribers[characteristic.handle] = notified

    async def stop_notify(self, characteristic: BleakGATTCharacteristic) -> None:
        self._must_be_connected()
        await _translated(_proxy(characteristic).unsubscribe(self._subscribers.pop(characteristic.handle)))

    async def read_gatt_descriptor(self, descriptor: BleakGATTDescriptor, **_: Any) -> bytearray:
        raise NotImplementedError

    async def write_gatt_descriptor(self, descriptor: BleakGATTDescriptor, data: SizedBuffer) -> None:
        raise NotImplementedError

    def _must_be_connected(self) -> None:
        if self._connection is None:
            raise BleakError("Not connected")

    def _went_down(self, _: int) -> None:
        self._connection = None
        self.services = None
        self._subscribers.clear()
        if self._disconnected_callback is not None:
            self._disconnected_callback()

    def _collect(self, peer: Peer) -> BleakGATTServiceCollection:
        collection = BleakGATTServiceCollection()
        for found in peer.services:
            if self._requested_services is not None and _uuid(found.uuid) not in self._requested_services:
                continue
            service = BleakGATTService(found, found.handle, _uuid(found.uuid))
            collection.add_service(service)
            for member in found.characteristics:
                collection.add_characteristic(
                    BleakGATTCharacteristic(
                        member, member.handle, _uuid(member.uuid), _flags(member), lambda: self.mtu_size - 3, service
                    )
                )
        return collection


def backends_on(radio: BumbleRadio) -> tuple[type[BaseBleakScanner], type[BaseBleakClient]]:
    """Backend classes of one radio: bleak takes a class, and makes the instances itself."""

    class Scanner(BumbleScanner):
        pass

    class Client(BumbleClient):
        pass

    Scanner.radio = Client.radio = radio
    return Scanner, Client


async def _discover(peer: Peer) -> None:
    await peer.request_mtu(ATT_MTU)
    await peer.discover_services()
    for found in peer.services:
        await found.discover_characteristics()


def _proxy(characteristic: BleakGATTCharacteristic) -> CharacteristicProxy[bytes]:
    proxy: CharacteristicProxy[bytes] = characteristic.obj
    return proxy


def _flags(member: CharacteristicProxy[bytes]) -> list[Any]:
    """Property bits by name; Bumble writes them with underscores, bleak with hyphens."""
    flags = type(member.properties)
    return [name.lower().replace("_", "-") for name, flag in flags.__members__.items() if flag in member.properties]


async def _translated(work: Awaitable[Answer]) -> Answer:
    """Bumble's errors as those that bleak promises."""
    try:
        return await work
    except ATT_Error as error:
        raise BleakGATTProtocolError(error.error_code) from error
    except BaseBumbleError as error:
        raise BleakError(str(error)) from error
