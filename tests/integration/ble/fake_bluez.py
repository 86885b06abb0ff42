"""A BlueZ-shaped D-Bus service: one adapter, virtual sensors, and a test that says on stdin what goes wrong.

    python -m tests.integration.ble.fake_bluez '{"sensors": [...], "practice": null, "adapter": true, "powered": true}'

It owns org.bluez on whatever bus DBUS_SYSTEM_BUS_ADDRESS names; use a private one. Each line on stdin is a JSON object
whose `do` is a method of `Faults`; each is answered by one line on stdout. The end of stdin ends it.
"""

from __future__ import annotations

import asyncio
import json
import socket
import sys
from collections.abc import Coroutine
from pathlib import Path
from typing import Any

from dbus_fast import BusType, Message, MessageType, Variant
from dbus_fast.aio import MessageBus

from sensors.virtual.air.sensor import StartTogether
from tests.integration.ble.boards import BOARDS
from tests.integration.ble.fake_device import ADAPTER_PATH, CHARACTERISTIC, DEVICE, Characteristic, FakeDevice
from tests.integration.ble.packet_supply import practice
from tests.integration.ble.virtual_sensor import Identity

ADAPTER = "org.bluez.Adapter1"
OBJECT_MANAGER = "org.freedesktop.DBus.ObjectManager"
PROPERTIES = "org.freedesktop.DBus.Properties"
ADVERTISING_INTERVAL_S = 0.05
RADIO_S = 0.02
"""What connecting, discovering and disconnecting each take."""


class Refusal(Exception):
    def __init__(self, name: str, text: str = "") -> None:
        self.name = name
        self.text = text
        super().__init__(name)


NOT_READY = Refusal("org.bluez.Error.NotReady", "Resource Not Ready")
GONE = Refusal("org.freedesktop.DBus.Error.UnknownObject", "Method call on an object that is not there")


class FakeBluez:
    def __init__(self, bus: MessageBus, config: dict[str, Any]) -> None:
        self.bus = bus
        self.has_adapter: bool = config["adapter"]
        self.powered: bool = config["powered"]
        self.stuck = False
        """It refuses to search, for no reason that it gives."""
        self.searchers: set[str] = set()
        """D-Bus clients that called StartDiscovery."""
        self.n_discoveries = self.n_discoveries_refused = 0
        self.n_connecting = self.most_connecting = 0
        """Connections being made at this moment, and at most so far."""
        self.met_while_searching = 0
        """Connections begun while somebody searched."""
        self._tasks: set[asyncio.Task[None]] = set()
        self._discovery: asyncio.Task[None] | None = None
        identities = [Identity(**{**entry, "lacks": tuple(entry["lacks"])}) for entry in config["sensors"]]
        together = StartTogether(len(identities)) if config["practice"] else None
        self.devices = [
            FakeDevice(
                identity,
                practice(Path(config["practice"]), index)
                if config["practice"]
                else BOARDS[identity.kind].packets(index),
                self.changed,
                together,
            )
            for index, identity in enumerate(identities)
        ]

    # signals

    def emit(self, path: str, interface: str, member: str, signature: str, body: list[Any]) -> None:
        self.bus.send(
            Message(
                message_type=MessageType.SIGNAL,
                path=path,
                interface=interface,
                member=member,
                signature=signature,
                body=body,
            )
        )

    def changed(self, path: str, interface: str, properties: dict[str, Variant]) -> None:
        self.emit(path, PROPERTIES, "PropertiesChanged", "sa{sv}as", [interface, properties, []])

    def added(self, path: str, interfaces: dict[str, dict[str, Variant]]) -> None:
        self.emit("/", OBJECT_MANAGER, "InterfacesAdded", "oa{sa{sv}}", [path, interfaces])

    def removed(self, path: str, interfaces: list[str]) -> None:
        self.emit("/", OBJECT_MANAGER, "InterfacesRemoved", "oas", [path, interfaces])

    # state

    def adapter_properties(self) -> dict[str, Variant]:
        return {
            "Address": Variant("s", "00:11:22:33:44:55"),
            "AddressType": Variant("s", "public"),
            "Name": Variant("s", "fake"),
            "Alias": Variant("s", "fake"),
            "Class": Variant("u", 0),
            "Powered": Variant("b", self.powered),
            "Discoverable": Variant("b", False),
            "Pairable": Variant("b", False),
            "Discovering": Variant("b", bool(self.searchers)),
            "UUIDs": Variant("as", []),
            "Roles": Variant("as", ["central", "peripheral"]),
        }

    def objects(self) -> dict[str, dict[str, dict[str, Variant]]]:
        made: dict[str, dict[str, dict[str, Variant]]] = {"/org/bluez": {"org.bluez.AgentManager1": {}}}
        if self.has_adapter:
            made[ADAPTER_PATH] = {ADAPTER: self.adapter_properties()}
            for device in self.devices:
                if device.visible:
                    made[device.path] = {DEVICE: device.properties()}
                if device.resolved:
                    made |= device.gatt_objects()
        return made

    async def discover(self) -> None:
        while self.searchers:
            await asyncio.sleep(ADVERTISING_INTERVAL_S)
            for device in self.devices:
                if device.connected or not device.advertising:
                    continue
                if not device.visible:
                    device.visible = True
                    self.added(device.path, {DEVICE: device.properties()})
                else:
                    self.changed(device.path, DEVICE, {"RSSI": Variant("n", device.rssi_dbm)})
        self._discovery = None

    async def connect(self, device: FakeDevice) -> None:
        self.n_connecting += 1
        self.most_connecting = max(self.most_connecting, self.n_connecting)
        self.met_while_searching += bool(self.searchers)
        try:
            await asyncio.sleep(RADIO_S)
        finally:
            self.n_connecting -= 1
        device.n_connects += 1
        if device.fail_connects:
            device.fail_connects -= 1
            raise Refusal(*device.refusal)
        device.connected = True
        self.changed(device.path, DEVICE, {"Connected": Variant("b", True)})
        self.start(self.resolve(device))

    async def resolve(self, device: FakeDevice) -> None:
        await asyncio.sleep(RADIO_S)
        if device.connected:
            device.resolved = True
            for path, interfaces in device.gatt_objects().items():
                self.added(path, interfaces)
            self.changed(device.path, DEVICE, {"ServicesResolved": Variant("b", True)})
            device.listeners_changed()  # those of a lost connection are subscribed anew

    def drop(self, device: FakeDevice) -> None:
        if device.connected:
            device.went_down()
            self.changed(device.path, DEVICE, {"ServicesResolved": Variant("b", False)})
            self.changed(device.path, DEVICE, {"Connected": Variant("b", False)})
            for path, interfaces in reversed(list(device.gatt_objects().items())):
                self.removed(path, list(interfaces))

    def start(self, work: Coroutine[Any, Any, None]) -> None:
        task = asyncio.create_task(work)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    # calls

    def handle(self, message: Message) -> Message | bool | None:
        """Answer a message; dbus-fast takes True for 'answered later'."""
        if message.member == "NameOwnerChanged" and message.body and not message.body[2]:
            self.left_bus(message.body[0])
            return None
        if message.message_type is not MessageType.METHOD_CALL or not (message.interface or "").startswith(
            ("org.bluez.", OBJECT_MANAGER)
        ):
            return None
        self.start(self.answer(message))
        return True

    def left_bus(self, client: str) -> None:
        self.searchers.discard(client)
        for device in self.devices:
            for characteristic in device.characteristics.values():
                characteristic.listeners.discard(client)
            device.listeners_changed()

    async def answer(self, message: Message) -> None:
        try:
            signature, body, fds = await self.call(message)
        except Refusal as refusal:
            self.bus.send(Message.new_error(message, refusal.name, refusal.text))
        else:
            self.bus.send(Message.new_method_return(message, signature, body, fds))

    async def call(self, message: Message) -> tuple[str, list[Any], list[int]]:
        nothing: tuple[str, list[Any], list[int]] = ("", [], [])
        if message.interface == OBJECT_MANAGER:
            return "a{oa{sa{sv}}}", [self.objects()], []
        if message.interface == ADAPTER:
            self.call_adapter(message)
            return nothing
        device = next((d for d in self.devices if f"{message.path}/".startswith(f"{d.path}/")), None)
        if device is None or not device.visible or not self.has_adapter:
            raise GONE
        if message.interface == DEVICE:
            if not self.powered:
                raise NOT_READY
            if message.member == "Connect":
                await self.connect(device)
            else:  # Disconnect
                await asyncio.sleep(RADIO_S)
                self.drop(device)
            return nothing
        characteristic = device.characteristics.get(message.path or "")
        if message.interface != CHARACTERISTIC or characteristic is None or not device.resolved:
            raise GONE
        return self.call_characteristic(message, device, characteristic)

    def call_adapter(self, message: Message) -> None:
        if not self.has_adapter:
            raise GONE
        if not self.powered and message.member != "SetDiscoveryFilter":
            raise NOT_READY
        if message.member == "StartDiscovery":
            if self.stuck:
                raise Refusal("org.bluez.Error.Failed", "Connection timed out")
            if message.sender in self.searchers:  # one discovery a client (BlueZ, doc/adapter-api; from memory)
                self.n_discoveries_refused += 1
                raise Refusal("org.bluez.Error.InProgress", "Operation already in progress")
            self.n_discoveries += 1
            self.searchers.add(message.sender or "")
            if self._discovery is None:
                self._discovery = asyncio.create_task(self.discover())
        elif message.member == "StopDiscovery":
            if message.sender not in self.searchers:
                raise Refusal("org.bluez.Error.Failed", "No discovery started")
            self.searchers.discard(message.sender)

    def call_characteristic(
        self, message: Message, device: FakeDevice, characteristic: Characteristic
    ) -> tuple[str, list[Any], list[int]]:
        needs = {"ReadValue": "read", "WriteValue": "write", "StartNotify": "notify", "AcquireNotify": "notify"}
        if needs.get(message.member or "", "notify") not in characteristic.flags:
            raise Refusal("org.bluez.Error.NotSupported", "Operation is not supported")
        sender = message.sender or ""
        if message.member == "ReadValue":
            return "ay", [device.read(characteristic)], []
        if message.member == "WriteValue":
            device.write_types.append(message.body[1]["type"].value)
            device.sensor.command(bytes(message.body[0]))
        elif message.member == "StartNotify":
            if characteristic is device.data and device.acquired_elsewhere:
                raise Refusal("org.bluez.Error.NotPermitted", "Notify acquired")
            if sender in characteristic.listeners or characteristic.pipe is not None:
                raise Refusal("org.bluez.Error.InProgress", "In Progress")
            characteristic.listeners.add(sender)
            device.listeners_changed()
        elif message.member == "StopNotify":
            if sender not in characteristic.listeners:
                raise Refusal("org.bluez.Error.Failed", "No notify session started")
            characteristic.listeners.discard(sender)
            device.listeners_changed()
        elif message.member == "AcquireNotify":
            ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET | socket.SOCK_NONBLOCK)
            characteristic.pipe = ours
            device.listeners_changed()
            asyncio.get_running_loop().call_later(1.0, theirs.close)  # the client has its own copy by then
            return "hq", [0, 247], [theirs.fileno()]
        return "", [], []


class Faults:
    """What a test can have happen. Method names are the values of `do`."""

    def __init__(self, bluez: FakeBluez) -> None:
        self._bluez = bluez

    def drop(self, index: int, reason: str = "") -> None:
        """The link goes down by itself. A newer BlueZ gives a `reason`: org.bluez.Reason.Timeout, ...Remote."""
        device = self._bluez.devices[index]
        if reason:
            self._bluez.emit(device.path, DEVICE, "Disconnected", "ss", [reason, "text that nobody reads"])
        self._bluez.drop(device)

    def fail_connects(self, index: int, n: int, error: str = "org.bluez.Error.Failed") -> None:
        """The next `n` connections fail."""
        device = self._bluez.devices[index]
        device.fail_connects, device.refusal = n, (error, "text that nobody reads")

    def signal(self, index: int, rssi_dbm: int) -> None:
        """How strongly it is heard from now on."""
        self._bluez.devices[index].rssi_dbm = rssi_dbm

    def acquire(self, index: int, on: bool) -> None:
        """Another program takes the notifications of the samples for itself, or lets go of them."""
        self._bluez.devices[index].acquired_elsewhere = on

    def silence(self, index: int, on: bool) -> None:
        """The sensor hangs: connected, nothing sent."""
        self._bluez.devices[index].sensor.silent = on

    def listen_elsewhere(self, index: int, on: bool) -> None:
        """Another program asks for the samples, or leaves the bus."""
        listeners = self._bluez.devices[index].data.listeners
        (listeners.add if on else listeners.discard)("another program")
        self._bluez.devices[index].listeners_changed()

    def rest(self, index: int, on: bool) -> None:
        """The sensor lies on a table, or is turned about in a hand."""
        self._bluez.devices[index].sensor.at_rest = on

    def advertise(self, index: int, on: bool) -> None:
        """The sensor is out of reach, or back."""
        self._bluez.devices[index].advertising = on

    def battery(self, index: int, pct: int) -> None:
        self._bluez.devices[index].battery(pct)

    def power(self, on: bool) -> None:
        """Switch the adapter; off takes all links and searches with it."""
        bluez = self._bluez
        bluez.powered = on
        if not on:
            bluez.searchers.clear()
            for device in bluez.devices:
                bluez.drop(device)
        bluez.changed(ADAPTER_PATH, ADAPTER, {"Powered": Variant("b", on)})

    def stick(self, on: bool) -> None:
        """The adapter takes no command to search, or does again."""
        self._bluez.stuck = on

    def plug(self, on: bool) -> None:
        """Plug the adapter in, or pull it out with all its links."""
        bluez = self._bluez
        if on:
            bluez.has_adapter = True
            bluez.added(ADAPTER_PATH, {ADAPTER: bluez.adapter_properties()})
            return
        bluez.searchers.clear()
        for device in bluez.devices:
            bluez.drop(device)
            if device.visible:
                device.visible = False
                bluez.removed(device.path, [DEVICE])
        bluez.has_adapter = False
        bluez.removed(ADAPTER_PATH, [ADAPTER])

    async def leave_connected(self, index: int) -> None:
        """As after a program that died with the sensor connected."""
        device = self._bluez.devices[index]
        device.visible = True
        self._bluez.added(device.path, {DEVICE: device.properties()})
        device.connected = True
        self._bluez.changed(device.path, DEVICE, {"Connected": Variant("b", True)})
        await self._bluez.resolve(device)

    def book(self) -> dict[str, int]:
        """How the adapter was used so far."""
        bluez = self._bluez
        return {
            "n_discoveries": bluez.n_discoveries,
            "n_discoveries_refused": bluez.n_discoveries_refused,
            "most_connecting": bluez.most_connecting,
            "met_while_searching": bluez.met_while_searching,
        }

    def state(self, index: int) -> dict[str, Any]:
        return self._bluez.devices[index].state()


async def main() -> None:
    bus = await MessageBus(bus_type=BusType.SYSTEM, negotiate_unix_fd=True).connect()
    bluez = FakeBluez(bus, json.loads(sys.argv[1]))
    bus.add_message_handler(bluez.handle)
    await bus.call(
        Message(
            destination="org.freedesktop.DBus",
            path="/org/freedesktop/DBus",
            interface="org.freedesktop.DBus",
            member="AddMatch",
            signature="s",
            body=["type='signal',sender='org.freedesktop.DBus',member='NameOwnerChanged'"],
        )
    )
    await bus.request_name("org.bluez")
    reader = asyncio.StreamReader()
    await asyncio.get_running_loop().connect_read_pipe(lambda: asyncio.StreamReaderProtocol(reader), sys.stdin)
    print(json.dumps("ready"), flush=True)
    faults = Faults(bluez)
    while line := await reader.readline():
        told = json.loads(line)
        done = getattr(faults, told.pop("do"))(**told)
        if asyncio.iscoroutine(done):
            done = await done
        print(json.dumps(done), flush=True)
    bus.disconnect()


if __name__ == "__main__":
    asyncio.run(main())
