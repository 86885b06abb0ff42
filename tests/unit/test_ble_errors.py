from __future__ import annotations

import pytest
from bleak.exc import (
    BleakBluetoothNotAvailableError,
    BleakBluetoothNotAvailableReason,
    BleakDBusError,
    BleakDeviceNotFoundError,
    BleakError,
)

from sensors.events import LinkReason
from sensors.sources.ble_errors import TROUBLE, connect_reason, scan_reason


@pytest.mark.parametrize("why", BleakBluetoothNotAvailableReason)
def test_every_reason_of_bleak_has_ours(why):
    error = BleakBluetoothNotAvailableError("text that nobody reads", why)
    assert isinstance(error, TROUBLE)
    assert scan_reason(error) is connect_reason(error)
    assert scan_reason(error) in {LinkReason.NO_ADAPTER, LinkReason.ADAPTER_OFF, LinkReason.PERMISSION_DENIED}


@pytest.mark.parametrize(
    ("error", "scanning", "connecting"),
    [
        (BleakDBusError("org.bluez.Error.NotReady", []), LinkReason.ADAPTER_OFF, LinkReason.ADAPTER_OFF),
        (
            BleakDBusError("org.freedesktop.DBus.Error.AccessDenied", ["no"]),
            LinkReason.PERMISSION_DENIED,
            LinkReason.PERMISSION_DENIED,
        ),
        (BleakDBusError("org.bluez.Error.Failed", ["x"]), LinkReason.NO_ADAPTER, LinkReason.CONNECT_FAILED),
        (BleakDeviceNotFoundError("C0:00"), LinkReason.NO_ADAPTER, LinkReason.CONNECT_FAILED),
        (BleakError("adapter 'hci0' not found"), LinkReason.NO_ADAPTER, LinkReason.CONNECT_FAILED),
        (TimeoutError(), LinkReason.ADAPTER_STUCK, LinkReason.CONNECT_FAILED),
        (FileNotFoundError(), LinkReason.SERVICE_OFF, LinkReason.SERVICE_OFF),
        (ConnectionRefusedError(), LinkReason.SERVICE_OFF, LinkReason.SERVICE_OFF),
        (
            BleakDBusError("org.freedesktop.DBus.Error.ServiceUnknown", []),
            LinkReason.SERVICE_OFF,
            LinkReason.SERVICE_OFF,
        ),
        (BleakDBusError("org.bluez.Error.InProgress", []), LinkReason.NO_ADAPTER, LinkReason.IN_USE),
        (BleakDBusError("org.bluez.Error.AlreadyConnected", []), LinkReason.NO_ADAPTER, LinkReason.IN_USE),
        (BleakDBusError("org.bluez.Error.NotPermitted", ["Notify acquired"]), LinkReason.NO_ADAPTER, LinkReason.IN_USE),
        (PermissionError(), LinkReason.PERMISSION_DENIED, LinkReason.PERMISSION_DENIED),
        (EOFError(), LinkReason.SERVICE_OFF, LinkReason.SERVICE_OFF),
    ],
)
def test_failures_by_what_was_being_done(error, scanning, connecting):
    assert isinstance(error, TROUBLE)
    assert (scan_reason(error), connect_reason(error)) == (scanning, connecting)
