"""What Linux knows of its radio and bleak does not pass on: whether the Bluetooth service runs, and which end let a link go."""

from __future__ import annotations

import asyncio
import logging
import sys
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from sensors.events import LinkReason
from sensors.profiles.open_imu import BATTERY_LEVEL_UUID
from sensors.sources.ble_errors import scan_reason

if TYPE_CHECKING:
    from dbus_fast.aio import MessageBus

_log = logging.getLogger(__name__)

KERNEL_ADAPTERS: Final = Path("/sys/class/bluetooth")
"""A folder for each adapter that the kernel has a driver for. Without one the service does not even start."""
NO_BUS: Final = (OSError, EOFError, ValueError)
"""No system bus, or none that lets us in: dbus-fast has ValueErrors for that."""
_LOOKED_UP: Final = frozenset({LinkReason.NO_ADAPTER, LinkReason.SERVICE_OFF, LinkReason.ADAPTER_STUCK})
"""Reasons for a failed scan that are guesses from the error alone."""
_ANSWER_S: Final = 2.0
_DISCONNECTED: Final = "type='signal',sender='org.bluez',interface='org.bluez.Device1',member='Disconnected'"


async def scan_trouble(error: Exception, *, adapters: Path | None = None) -> LinkReason:
    """Why a scan failed. What bleak says when there is no adapter to be had depends on what was before: here it is looked up."""
    reason = scan_reason(error)
    if sys.platform != "linux" or reason not in _LOOKED_UP:
        return reason
    if not _has_entries(adapters or KERNEL_ADAPTERS):
        return LinkReason.NO_ADAPTER
    try:
        async with asyncio.timeout(_ANSWER_S):
            if not await _service_runs():
                return LinkReason.SERVICE_OFF
            lists_one = any("org.bluez.Adapter1" in interfaces for interfaces in (await _objects()).values())
    except NO_BUS:
        return LinkReason.SERVICE_OFF
    return LinkReason.ADAPTER_STUCK if lists_one else LinkReason.NO_ADAPTER


async def listen_to_farewells(note: Callable[[str, str], None]) -> None:
    """Call `note` with the object path and the reason of every link that ends, for as long as the system bus lasts."""
    from dbus_fast import Message, MessageType  # noqa: PLC0415  # Linux only

    def heard(message: Message) -> None:
        is_one = message.message_type is MessageType.SIGNAL and message.interface == "org.bluez.Device1"
        if is_one and message.member == "Disconnected" and message.signature == "ss" and message.path:
            note(message.path, message.body[0])

    async with _system_bus() as bus:
        bus.add_message_handler(heard)
        await _ask_the_bus(bus, "AddMatch", _DISCONNECTED)
        await bus.wait_for_disconnect()  # type: ignore[no-untyped-call]  # dbus-fast left this one without types


async def is_listened_to(device_path: str) -> bool:
    """Whether some program of this machine has asked for the notifications of a connected device, its battery's aside.

    Asked of a device that this program has not connected. A program that dies leaves no such wish behind, only the link.
    """
    if sys.platform != "linux":
        return False
    try:
        async with asyncio.timeout(_ANSWER_S):
            objects = await _objects()
    except NO_BUS:
        return False
    return any(
        _is_wanted(interfaces.get("org.bluez.GattCharacteristic1", {}))
        for path, interfaces in objects.items()
        if path.startswith(f"{device_path}/")
    )


def _is_wanted(characteristic: dict[str, Any]) -> bool:
    """Tell whether its notifications go to somebody, by either of the two ways that BlueZ has."""
    values = {name: variant.value for name, variant in characteristic.items()}
    return values.get("UUID") != BATTERY_LEVEL_UUID and bool(values.get("Notifying") or values.get("NotifyAcquired"))


async def _objects() -> dict[str, dict[str, Any]]:
    """Everything that the Bluetooth service shows, by path and interface; nothing when it refuses."""
    from dbus_fast import Message  # noqa: PLC0415  # Linux only

    async with _system_bus() as bus:
        reply = await bus.call(
            Message(
                destination="org.bluez",
                path="/",
                interface="org.freedesktop.DBus.ObjectManager",
                member="GetManagedObjects",
            )
        )
    objects = reply.body[0] if reply is not None and reply.body else {}
    return objects if isinstance(objects, dict) else {}


async def _service_runs() -> bool:
    async with _system_bus() as bus:
        return bool(await _ask_the_bus(bus, "NameHasOwner", "org.bluez"))


@asynccontextmanager
async def _system_bus() -> AsyncIterator[MessageBus]:
    from dbus_fast import BusType  # noqa: PLC0415  # Linux only
    from dbus_fast.aio import MessageBus  # noqa: PLC0415  # Linux only

    bus = await MessageBus(bus_type=BusType.SYSTEM).connect()
    try:
        yield bus
    finally:
        bus.disconnect()


async def _ask_the_bus(bus: MessageBus, member: str, text: str) -> Any:
    from dbus_fast import Message  # noqa: PLC0415  # Linux only

    reply = await bus.call(
        Message(
            destination="org.freedesktop.DBus",
            path="/org/freedesktop/DBus",
            interface="org.freedesktop.DBus",
            member=member,
            signature="s",
            body=[text],
        )
    )
    return reply.body[0] if reply is not None and reply.body else None


def _has_entries(folder: Path) -> bool:
    try:
        return any(folder.iterdir())
    except OSError:
        return False
