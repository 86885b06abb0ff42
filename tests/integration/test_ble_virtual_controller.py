"""The radio source over a virtual controller in one process: bleak's public layer, real ATT and L2CAP, bunched arrivals."""

from __future__ import annotations

import asyncio
import itertools

import numpy as np
import pytest
from bumble.hci import Address

from sensors.events import LinkReason, LinkState
from sensors.ids import Role
from sensors.profiles.open_imu import COMMAND_IDENTIFY, COMMAND_START, COMMAND_STOP
from sensors.sources.ble import BleSource, identify, scan
from sensors.sources.ble_bumble import BumbleRadio, backends_on
from sensors.sources.timing import RadioTiming
from sensors.virtual.air.link import IntervalAir
from sensors.virtual.air.peripheral import BumblePeripheral
from tests.integration.ble.identities import CLUB, FOREARM
from tests.integration.ble.packet_supply import synthetic
from tests.integration.ble.stand import ARM, BOTH, GRIP
from tests.integration.ble.watch import watching

pytestmark = pytest.mark.usefixtures("quiet_bumble")

INTERVAL_S = 0.0075
LONG_INTERVAL_S = 0.015
HURRIED = RadioTiming(scan_round_s=1.0, gather_s=0.5, silent_s=0.6, backoff_scale=0.1)


pytestmark = pytest.mark.usefixtures("quiet_bumble")


@pytest.fixture
async def air():
    return IntervalAir(INTERVAL_S)


@pytest.fixture
async def pair(air):
    peripherals = [BumblePeripheral(identity, synthetic(index), air) for index, identity in enumerate((FOREARM, CLUB))]
    for peripheral in peripherals:
        await peripheral.start()
    yield peripherals
    for peripheral in peripherals:
        await peripheral.stop()


@pytest.fixture
async def backends(air, pair):
    radio = await BumbleRadio.open(air)
    scanner_backend, client_backend = backends_on(radio)
    yield {"scanner_backend": scanner_backend, "client_backend": client_backend}
    await radio.device.power_off()


async def test_a_scan_finds_both(backends):
    found = await scan(seconds=0.3, scanner_backend=backends["scanner_backend"])
    assert {(sensor.sensor, sensor.name) for sensor in found} == {(ARM, "Reed A"), (GRIP, "Reed B")}


async def test_two_stream_complete_in_bunches(pair, backends):
    async with watching(BleSource(BOTH, timing=HURRIED, **backends)) as watch:
        await watch.packets_of(ARM, 20)
        await watch.packets_of(GRIP, 10)
        await pair[1].set_battery(52)
        await watch.until(lambda: watch.batteries(GRIP) == [87, 52])
    for sensor, peripheral in zip(BOTH, pair, strict=True):
        sequences = watch.sequences(sensor)
        assert sequences == list(range(len(sequences)))
        (info,) = watch.infos(sensor)
        assert info.firmware == "1.4.2"
        assert watch.events.index(info) < watch.events.index(watch.packets(sensor)[0])
        assert peripheral.sensor.commands == [COMMAND_START, COMMAND_STOP]
    stamps = [event.arrival_ns for event in watch.events]
    assert stamps == sorted(stamps)


async def test_a_connection_outlives_another_address_of_the_adapter(air, pair, backends):
    """Linux gives the adapter a new address for each scan; what is under way to a sensor is not lost for it."""
    async with watching(source := BleSource({ARM: Role.FOREARM}, timing=HURRIED, **backends)) as watch:
        await watch.packets_of(ARM, 5)
        (adapter,) = (
            one
            for one in air.controllers
            if any(str(link.peer_address).startswith(ARM) for link in one.le_connections.values())
        )
        adapter.random_address = Address("3D:00:00:00:00:01")
        await source.controls.blink(ARM)
    assert COMMAND_IDENTIFY in pair[0].sensor.commands


async def test_small_packets_arrive_several_at_an_event():
    """200 notifications a second over a 15 ms interval: three by three, none lost."""
    air = IntervalAir(LONG_INTERVAL_S)
    peripheral = BumblePeripheral(FOREARM, synthetic(0, samples_per_packet=1), air)
    await peripheral.start()
    radio = await BumbleRadio.open(air)
    scanner_backend, client_backend = backends_on(radio)
    source = BleSource(
        {ARM: Role.FOREARM}, timing=HURRIED, scanner_backend=scanner_backend, client_backend=client_backend
    )
    async with watching(source) as watch:
        await watch.packets_of(ARM, 150)
    await peripheral.stop()
    await radio.device.power_off()
    sequences = watch.sequences(ARM)
    assert sequences == list(range(len(sequences)))
    waits_ns = np.diff([packet.arrival_ns for packet in watch.packets(ARM)])
    assert np.mean(waits_ns < 0.2 * LONG_INTERVAL_S * 1e9) > 0.4  # within a bunch, there is next to no wait


async def test_a_drop_and_the_way_back(pair, backends):
    async with watching(BleSource(BOTH, timing=HURRIED, **backends)) as watch:
        await watch.packets_of(ARM, 3)
        await watch.packets_of(GRIP, 3)
        await pair[0].drop()
        await watch.link(ARM, LinkState.LOST, LinkReason.DROPPED)
        await watch.until(lambda: watch.links(ARM)[-1][0] is LinkState.STREAMING)
        await watch.packets_of(ARM, 10)
    arm, grip = watch.sequences(ARM), watch.sequences(GRIP)
    assert arm == sorted(set(arm))
    assert grip == list(range(len(grip)))
    assert len(watch.infos(ARM)) == 2
    assert all(later.arrival_ns >= earlier.arrival_ns for earlier, later in itertools.pairwise(watch.events))


async def test_a_link_that_goes_down_while_it_is_prepared_is_made_again(pair, backends):
    """Bumble cancels what it was asked then, as Windows does; that must not end the search in silence."""
    n_drops = 3

    async def drop_soon(connection):
        nonlocal n_drops
        if n_drops > 0:
            n_drops -= 1
            await asyncio.sleep(2.5 * INTERVAL_S)
            await connection.disconnect()

    pair[0]._device.on("connection", drop_soon)
    async with watching(BleSource(BOTH, timing=HURRIED, **backends)) as watch:
        await watch.packets_of(ARM, 3)
        await watch.packets_of(GRIP, 3)
    assert [state for state, _ in watch.links(ARM)].count(LinkState.LOST) == 3


async def test_silence_is_noticed_and_cured(pair, backends):
    async with watching(BleSource(BOTH, timing=HURRIED, **backends)) as watch:
        await watch.packets_of(ARM, 3)
        pair[0].sensor.silent = True
        await watch.link(ARM, LinkState.LOST, LinkReason.SILENT)
        pair[0].sensor.silent = False
        await watch.packets_of(ARM, 3)
        await watch.packets_of(GRIP, 3)
    assert watch.links(GRIP)[-1] == (LinkState.STREAMING, LinkReason.NONE)


async def test_identify(pair, backends):
    await identify(GRIP, timing=HURRIED, **backends)
    assert [peripheral.sensor.commands for peripheral in pair] == [[], [COMMAND_IDENTIFY]]
