"""What bleak raises, as reasons. By exception type, reason enum and D-Bus error name; never by the text of a message."""

from __future__ import annotations

from typing import Final

from bleak.exc import (
    BleakBluetoothNotAvailableError,
    BleakBluetoothNotAvailableReason,
    BleakDBusError,
    BleakError,
)

from sensors.events import LinkReason

TROUBLE: Final = (BleakError, OSError, EOFError)
"""Failures that belong to radio life: bleak's own, timeouts and refused or broken sockets (both are `OSError`), and a
D-Bus connection that ends. Anything else is a bug, and must be seen as one."""

_BY_AVAILABILITY: Final[dict[BleakBluetoothNotAvailableReason, LinkReason]] = {
    BleakBluetoothNotAvailableReason.NO_BLUETOOTH: LinkReason.NO_ADAPTER,
    BleakBluetoothNotAvailableReason.NO_BLE_CENTRAL_ROLE: LinkReason.NO_ADAPTER,
    BleakBluetoothNotAvailableReason.POWERED_OFF: LinkReason.ADAPTER_OFF,
    BleakBluetoothNotAvailableReason.DENIED_BY_USER: LinkReason.PERMISSION_DENIED,
    BleakBluetoothNotAvailableReason.DENIED_BY_SYSTEM: LinkReason.PERMISSION_DENIED,
    BleakBluetoothNotAvailableReason.DENIED_BY_UNKNOWN: LinkReason.PERMISSION_DENIED,
    BleakBluetoothNotAvailableReason.UNKNOWN: LinkReason.NO_ADAPTER,
}

_BY_DBUS_ERROR: Final[dict[str, LinkReason]] = {
    "org.bluez.Error.NotReady": LinkReason.ADAPTER_OFF,
    "org.freedesktop.DBus.Error.AccessDenied": LinkReason.PERMISSION_DENIED,
    "org.freedesktop.DBus.Error.AuthFailed": LinkReason.PERMISSION_DENIED,
    # No one answers to the name org.bluez: the Bluetooth service is not installed, or not running.
    "org.freedesktop.DBus.Error.ServiceUnknown": LinkReason.SERVICE_OFF,
    "org.freedesktop.DBus.Error.NameHasNoOwner": LinkReason.SERVICE_OFF,
    "org.freedesktop.DBus.Error.NoReply": LinkReason.SERVICE_OFF,
    "org.freedesktop.DBus.Error.Disconnected": LinkReason.SERVICE_OFF,
}

_SENSOR_HELD: Final = frozenset(
    {
        # Another client of the Bluetooth service is connecting, or is connected and does not share.
        "org.bluez.Error.InProgress",
        "org.bluez.Error.AlreadyConnected",
        # It has taken the notifications for itself (AcquireNotify).
        "org.bluez.Error.NotPermitted",
    }
)


def scan_reason(error: Exception) -> LinkReason:
    """Why a scan failed. Scanning needs nothing but this machine, so what has no name of its own is the adapter."""
    if isinstance(error, TimeoutError):
        return LinkReason.ADAPTER_STUCK
    return _machine_reason(error) or LinkReason.NO_ADAPTER


def connect_reason(error: Exception) -> LinkReason:
    """Why a connection could not be made or prepared."""
    if isinstance(error, BleakDBusError) and error.dbus_error in _SENSOR_HELD:
        return LinkReason.IN_USE
    return _machine_reason(error) or LinkReason.CONNECT_FAILED


def _machine_reason(error: Exception) -> LinkReason | None:
    match error:
        case BleakBluetoothNotAvailableError():
            return _BY_AVAILABILITY[error.reason]
        case BleakDBusError():
            return _BY_DBUS_ERROR.get(error.dbus_error)
        case PermissionError():
            return LinkReason.PERMISSION_DENIED
        case FileNotFoundError() | ConnectionError() | EOFError():
            return LinkReason.SERVICE_OFF  # the system bus itself is not there, or has just gone
        case _:
            return None
