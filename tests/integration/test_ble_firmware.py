"""The radio source reads the reference firmware's own bytes, over a virtual controller."""

from __future__ import annotations

import numpy as np
import pytest
from bleak import BleakClient, BleakScanner
from bleak.exc import BleakGATTProtocolError

from sensors.events import LinkReason, LinkState
from sensors.ids import Role
from sensors.profiles.open_imu import COMMAND_START, COMMAND_STOP, CONTROL_UUID, unpack
from sensors.sources.ble import BleSource
from sensors.sources.ble_bumble import BumbleRadio, backends_on
from sensors.sources.timing import RadioTiming
from sensors.virtual.air.link import IntervalAir
from tests.firmware.board import Core
from tests.firmware.compiler import build_driver
from tests.firmware.receiver import check
from tests.integration.ble.firmware_peripheral import FirmwarePeripheral
from tests.integration.ble.identities import FOREARM
from tests.integration.ble.stand import ARM
from tests.integration.ble.watch import watching

pytestmark = pytest.mark.usefixtures("quiet_bumble")

INTERVAL_S = 0.015
HURRIED = RadioTiming(scan_round_s=1.0, gather_s=0.5, silent_s=2.0, backoff_scale=0.1)


@pytest.fixture
async def stand(tmp_path):
    air = IntervalAir(INTERVAL_S)
    with Core(build_driver(tmp_path)) as core:
        peripheral = FirmwarePeripheral(FOREARM, core, air)
        await peripheral.start()
        radio = await BumbleRadio.open(air)
        yield peripheral, backends_on(radio)
        await peripheral.stop()
        await radio.device.power_off()


async def test_the_source_reads_the_firmware_and_a_drop_is_a_counted_gap(stand):
    peripheral, (scanner_backend, client_backend) = stand
    source = BleSource(
        {ARM: Role.FOREARM}, timing=HURRIED, scanner_backend=scanner_backend, client_backend=client_backend
    )
    async with watching(source) as watch:
        await watch.packets_of(ARM, 20)
        await peripheral.drop()
        await watch.link(ARM, LinkState.LOST, LinkReason.DROPPED)
        await watch.packets_of(ARM, 20)
    received = watch.packets(ARM)
    found = check(peripheral.sensor.board, received)
    assert found.n_samples == 10 * len(received)
    assert found.n_restarts == 0
    assert found.n_lost > 0
    assert np.abs(found.last_errors_us).max() < 1000
    assert unpack(received[0].payload).sequence == 0
    assert peripheral.sensor.commands == [COMMAND_START, COMMAND_START, COMMAND_STOP]


async def test_a_write_that_the_firmware_refuses_is_an_att_error(stand):
    peripheral, (scanner_backend, client_backend) = stand
    device = await BleakScanner.find_device_by_address(ARM, timeout=5, backend=scanner_backend)
    async with BleakClient(device, backend=client_backend) as client:
        await client.write_gatt_char(CONTROL_UUID, b"\x04\xf4\x01", response=True)
        with pytest.raises(BleakGATTProtocolError) as refused:
            await client.write_gatt_char(CONTROL_UUID, b"\x05\x03", response=True)
        assert refused.value.code == 0x82
        assert peripheral.sensor.board.state["told"] == "01d000f40110"
