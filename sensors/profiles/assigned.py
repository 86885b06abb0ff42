"""Bluetooth SIG assigned numbers: the Battery and Device Information Services, the same on every sensor."""

from __future__ import annotations

from typing import Final

BATTERY_SERVICE_UUID: Final = "0000180f-0000-1000-8000-00805f9b34fb"
BATTERY_LEVEL_UUID: Final = "00002a19-0000-1000-8000-00805f9b34fb"
DEVICE_INFORMATION_SERVICE_UUID: Final = "0000180a-0000-1000-8000-00805f9b34fb"
MANUFACTURER_UUID: Final = "00002a29-0000-1000-8000-00805f9b34fb"
MODEL_UUID: Final = "00002a24-0000-1000-8000-00805f9b34fb"
FIRMWARE_UUID: Final = "00002a26-0000-1000-8000-00805f9b34fb"
