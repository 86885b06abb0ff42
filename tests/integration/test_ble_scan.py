"""Scanning and identifying through bleak's own BlueZ backend, and every way in which this machine's radio can refuse."""

from __future__ import annotations

import sys

import pytest

if sys.platform != "linux":
    pytest.skip("BlueZ is Linux's Bluetooth; elsewhere bleak talks to another system", allow_module_level=True)

from sensors.errors import RadioError
from sensors.events import LinkReason
from sensors.ids import SensorId
from sensors.sources.ble import identify, scan
from tests.integration.ble.bluez_process import FakeBluez
from tests.integration.ble.private_bus import private_bus, system_bus_at
from tests.integration.ble.stand import ARM, GRIP, HURRIED


async def test_a_scan_finds_both_sensors(bluez):
    found = await scan(seconds=0.3)
    assert {(sensor.sensor, sensor.name, sensor.rssi_dbm) for sensor in found} == {
        (ARM, "Reed A", -52),
        (GRIP, "Reed B", -52),
    }


async def test_identify_makes_one_sensor_blink(bluez):
    await identify(GRIP, timing=HURRIED)
    assert (await bluez.state(1)).commands == ["02"]
    assert (await bluez.state(0)).commands == []
    assert not (await bluez.state(1)).connected


async def test_identify_says_when_the_sensor_is_not_there(bluez):
    with pytest.raises(RadioError) as caught:
        await identify(SensorId("C0:00:00:00:00:FF"), timing=HURRIED)
    assert caught.value.reason is LinkReason.NOT_FOUND


async def scan_failure() -> RadioError:
    with pytest.raises(RadioError) as caught:
        await scan(seconds=0.1)
    assert caught.value.detail
    return caught.value


async def test_a_scan_without_a_bluetooth_service(bus, kernel_adapters):
    assert (await scan_failure()).reason is LinkReason.SERVICE_OFF


async def test_a_scan_with_neither_service_nor_adapter(bus, kernel_adapters):
    (kernel_adapters / "hci0").rmdir()
    assert (await scan_failure()).reason is LinkReason.NO_ADAPTER


async def test_a_scan_with_a_service_that_has_no_adapter_yet(bus, kernel_adapters):
    async with FakeBluez(adapter=False):
        assert (await scan_failure()).reason is LinkReason.NO_ADAPTER


async def test_a_scan_without_a_system_bus(tmp_path, kernel_adapters):
    with system_bus_at(f"unix:path={tmp_path}/nothing"):
        assert (await scan_failure()).reason is LinkReason.SERVICE_OFF


async def test_a_scan_without_an_adapter(bus):
    async with FakeBluez(adapter=False):
        assert (await scan_failure()).reason is LinkReason.NO_ADAPTER


async def test_a_scan_with_the_adapter_off(bus):
    async with FakeBluez(powered=False):
        assert (await scan_failure()).reason is LinkReason.ADAPTER_OFF


async def test_a_scan_that_the_system_forbids(tmp_path):
    with private_bus(tmp_path, deny_bluetooth=True):
        async with FakeBluez():
            assert (await scan_failure()).reason is LinkReason.PERMISSION_DENIED
