"""One sensor as BlueZ shows it: a Device1 object, and while connected its services and characteristics."""

from __future__ import annotations

import socket
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

from dbus_fast import Variant

from sensors.profiles import open_imu as profile
from sensors.virtual.air.sensor import StartTogether
from sensors.virtual.stage.board import TimedPayload
from tests.integration.ble.boards import BOARDS
from tests.integration.ble.virtual_sensor import Identity, VirtualSensor

ADAPTER_PATH = "/org/bluez/hci0"
DEVICE = "org.bluez.Device1"
SERVICE = "org.bluez.GattService1"
CHARACTERISTIC = "org.bluez.GattCharacteristic1"

Changed = Callable[[str, str, dict[str, Variant]], None]
"""Emits PropertiesChanged: object path, interface, properties."""


@dataclass
class Characteristic:
    path: str
    service_path: str
    uuid: str
    flags: tuple[str, ...]
    listeners: set[str] = field(default_factory=set)
    """D-Bus clients that called StartNotify. As in bluetoothd they outlive the connection, until they leave the bus."""
    pipe: socket.socket | None = None
    """Our end of AcquireNotify."""

    def properties(self) -> dict[str, Variant]:
        made = {
            "UUID": Variant("s", self.uuid),
            "Service": Variant("o", self.service_path),
            "Value": Variant("ay", b""),
            "Flags": Variant("as", list(self.flags)),
            "MTU": Variant("q", 247),
        }
        if "notify" in self.flags:
            made |= {
                "Notifying": Variant("b", bool(self.listeners)),
                "NotifyAcquired": Variant("b", self.pipe is not None),
            }
        return made


class FakeDevice:
    def __init__(
        self, identity: Identity, packets: Iterable[TimedPayload], changed: Changed, together: StartTogether | None
    ) -> None:
        self.path = f"{ADAPTER_PATH}/dev_{identity.address.replace(':', '_')}"
        self.sensor = VirtualSensor(identity, packets, self._send_samples, together=together)
        self.visible = False
        """BlueZ has heard of it."""
        self.advertising = True
        self.connected = False
        self.resolved = False
        self.fail_connects = 0
        self.refusal = ("org.bluez.Error.Failed", "Software caused connection abort")
        """What a connection that fails is answered with."""
        self.rssi_dbm = -52
        self.acquired_elsewhere = False
        self.n_connects = 0
        self.write_types: list[str] = []
        self._changed = changed
        self.services: dict[str, str] = {}
        self.characteristics: dict[str, Characteristic] = {}
        handle = 0x000A
        for service_uuid, members in BOARDS[identity.kind].services:
            service_path = f"{self.path}/service{handle:04x}"
            self.services[service_path] = service_uuid
            for uuid, flags in members:
                handle += 3
                if uuid not in identity.lacks:
                    path = f"{service_path}/char{handle:04x}"
                    self.characteristics[path] = Characteristic(path, service_path, uuid, flags)
            handle += 3

    @property
    def data(self) -> Characteristic:
        return self._of(BOARDS[self.sensor.identity.kind].data_uuid)

    def properties(self) -> dict[str, Variant]:
        name = self.sensor.identity.name
        return {
            "Address": Variant("s", self.sensor.identity.address),
            "AddressType": Variant("s", "random"),
            "Name": Variant("s", name),
            "Alias": Variant("s", name),
            "Paired": Variant("b", False),
            "Bonded": Variant("b", False),
            "Trusted": Variant("b", False),
            "Blocked": Variant("b", False),
            "LegacyPairing": Variant("b", False),
            "RSSI": Variant("n", self.rssi_dbm),
            "Connected": Variant("b", self.connected),
            "UUIDs": Variant("as", list(BOARDS[self.sensor.identity.kind].advertised)),
            "Adapter": Variant("o", ADAPTER_PATH),
            "ServicesResolved": Variant("b", self.resolved),
        }

    def gatt_objects(self) -> dict[str, dict[str, dict[str, Variant]]]:
        made: dict[str, dict[str, dict[str, Variant]]] = {}
        for path, uuid in self.services.items():
            made[path] = {
                SERVICE: {
                    "UUID": Variant("s", uuid),
                    "Device": Variant("o", self.path),
                    "Primary": Variant("b", True),
                    "Includes": Variant("ao", []),
                }
            }
        for path, characteristic in self.characteristics.items():
            made[path] = {CHARACTERISTIC: characteristic.properties()}
        return made

    def read(self, characteristic: Characteristic) -> bytes:
        identity = self.sensor.identity
        values = {
            profile.BATTERY_LEVEL_UUID: bytes([self.sensor.battery_pct]),
            profile.MANUFACTURER_UUID: identity.manufacturer.encode(),
            profile.MODEL_UUID: identity.model.encode(),
            profile.FIRMWARE_UUID: identity.firmware.encode(),
        }
        return values[characteristic.uuid]

    def listeners_changed(self) -> None:
        """Tell the sensor whether anyone listens to its samples; none can while it is not connected."""
        self.sensor.notify(self.connected and (bool(self.data.listeners) or self.data.pipe is not None))

    def went_down(self) -> None:
        self.connected = self.resolved = False
        self.sensor.disconnected()
        for characteristic in self.characteristics.values():
            if characteristic.pipe is not None:
                characteristic.pipe.close()
                characteristic.pipe = None

    def battery(self, pct: int) -> None:
        self.sensor.battery_pct = pct
        self._notify(self._of(profile.BATTERY_LEVEL_UUID), bytes([pct]))

    def state(self) -> dict[str, Any]:
        return {
            "connected": self.connected,
            "commands": [command.hex() for command in self.sensor.commands],
            "write_types": self.write_types,
            "n_sent": self.sensor.n_sent,
            "n_connects": self.n_connects,
            "n_listeners": len(self.data.listeners),
        }

    async def _send_samples(self, payload: bytes) -> None:
        self._notify(self.data, payload)

    def _notify(self, characteristic: Characteristic, value: bytes) -> None:
        if characteristic.pipe is not None:
            try:
                characteristic.pipe.send(value)
            except OSError:  # full, as bluetoothd drops then; or closed by the client
                return
        for _ in characteristic.listeners:  # bluetoothd emits once per registered client
            self._changed(characteristic.path, CHARACTERISTIC, {"Value": Variant("ay", value)})

    def _of(self, uuid: str) -> Characteristic:
        return next(found for found in self.characteristics.values() if found.uuid == uuid)
