"""The radio source through bleak's own BlueZ backend, against a BlueZ-shaped service on a private D-Bus."""

from __future__ import annotations

import asyncio
import itertools
import sys
import time
from dataclasses import replace

import pytest

if sys.platform != "linux":
    pytest.skip("BlueZ is Linux's Bluetooth; elsewhere bleak talks to another system", allow_module_level=True)

from sensors.errors import RadioError
from sensors.events import LinkReason, LinkState, RawPacket, SensorInfo, SignalStrength
from sensors.ids import Role, SensorId
from sensors.profiles.open_imu import COMMAND_START, CONTROL_UUID, DATA_UUID, FIRMWARE_UUID, NAME
from sensors.sources.ble import BleSource, identify
from sensors.virtual.air.sensor import Identity
from tests.integration.ble.bluez_process import FakeBluez
from tests.integration.ble.identities import CLUB
from tests.integration.ble.packet_supply import synthetic, write_practice
from tests.integration.ble.private_bus import private_bus, system_bus_at
from tests.integration.ble.stand import ARM, BOTH, GRIP, HURRIED, assert_complete, assert_in_order, streaming
from tests.integration.ble.watch import watching


async def test_two_sensors_stream_complete_and_in_order(bluez):
    async with watching(BleSource(BOTH, timing=HURRIED)) as watch:
        await streaming(watch, ARM, GRIP)
        began_s, n_before = time.monotonic(), len(watch.packets(ARM)) + len(watch.packets(GRIP))
        await watch.packets_of(ARM, 25)
        await watch.packets_of(GRIP, 1)
        rate_hz = 10 * (len(watch.packets(ARM)) + len(watch.packets(GRIP)) - n_before) / (time.monotonic() - began_s)
        print(f"{rate_hz:.0f} samples/s from two sensors")
        n_sent = [(await bluez.state(index)).n_sent for index in (0, 1)]
        await watch.until(lambda: len(watch.packets(ARM)) >= n_sent[0] and len(watch.packets(GRIP)) >= n_sent[1])
    for sensor, role in BOTH.items():
        assert watch.sequences(sensor)[0] == 0
        assert_complete(watch.sequences(sensor))
        assert watch.links(sensor) == [
            (LinkState.SEARCHING, LinkReason.NONE),
            (LinkState.CONNECTING, LinkReason.NONE),
            (LinkState.STREAMING, LinkReason.NONE),
        ]
        (info,) = watch.infos(sensor)
        assert (info.role, info.profile, info.firmware) == (role, NAME, "1.4.2")
        assert watch.events.index(info) < watch.events.index(watch.packets(sensor)[0])
        assert watch.batteries(sensor) == [87]
        (signal,) = (e for e in watch.events if isinstance(e, SignalStrength) and e.sensor == sensor)
        assert signal.rssi_dbm == -52  # what the advertisement said
        assert watch.events.index(signal) < watch.events.index(info)
    assert [watch.infos(sensor)[0].name for sensor in BOTH] == ["Reed A", "Reed B"]
    assert_in_order(watch)


async def test_closing_stops_and_disconnects(bluez):
    async with watching(BleSource(BOTH, timing=HURRIED)) as watch:
        await streaming(watch, ARM, GRIP)
    for index in (0, 1):
        state = await bluez.state(index)
        assert state.commands == ["01", "00"]
        assert not state.connected
        async with asyncio.timeout(30):  # the daemon tells the fake in its own time that a client has left
            while (await bluez.state(index)).n_listeners:
                pass


async def test_a_dropped_link_comes_back_while_the_other_streams_on(bluez):
    async with watching(BleSource(BOTH, timing=HURRIED)) as watch:
        await streaming(watch, ARM, GRIP)
        dropped_at = len(watch.events)
        await bluez.tell("drop", index=0)
        await watch.link(ARM, LinkState.LOST, LinkReason.DROPPED)
        await watch.until(lambda: watch.links(ARM)[-1][0] is LinkState.STREAMING)
        await watch.packets_of(ARM, 10)
        assert (await bluez.state(0)).n_listeners == 1
    kinds = [type(e) for e in watch.events[dropped_at:] if e.sensor == ARM]
    assert SensorInfo in kinds[: kinds.index(RawPacket, 3)]  # it introduces itself again
    assert watch.links(ARM)[-4:] == [
        (LinkState.LOST, LinkReason.DROPPED),
        (LinkState.SEARCHING, LinkReason.DROPPED),
        (LinkState.CONNECTING, LinkReason.NONE),
        (LinkState.STREAMING, LinkReason.NONE),
    ]
    sequences = watch.sequences(ARM)
    assert len(sequences) == len(set(sequences))
    assert sequences == sorted(sequences)
    assert_complete(watch.sequences(GRIP))
    assert watch.links(GRIP)[-1] == (LinkState.STREAMING, LinkReason.NONE)
    assert_in_order(watch)
    down, up = (
        next(e.arrival_ns for e in watch.events[dropped_at:] if getattr(e, "state", None) is state)
        for state in (LinkState.LOST, LinkState.STREAMING)
    )
    print(f"{(up - down) / 1e6:.0f} ms from lost to streaming")


async def test_abandoning_the_old_client_would_double_notifications(bluez):
    """Why every client is released: the fake does what bluetoothd does, so the check above can fail."""
    from bleak import BleakClient, BleakScanner

    device = await BleakScanner.find_device_by_address(ARM, timeout=5)
    received: list[bytes] = []
    for n_clients in (1, 2):
        client = BleakClient(device)  # the first is dropped, and never disconnected
        await client.connect()
        received.clear()
        await client.start_notify(
            DATA_UUID, lambda _, data: received.append(bytes(data)), bluez={"use_start_notify": True}
        )
        await client.write_gatt_char(CONTROL_UUID, COMMAND_START, response=True)
        async with asyncio.timeout(30):
            while len(received) < 8:
                await asyncio.sleep(0.02)
        assert len(received) // len(set(received)) == n_clients
        if n_clients == 1:
            await bluez.tell("drop", index=0)
            async with asyncio.timeout(30):
                while client.is_connected:
                    await asyncio.sleep(0.01)
            abandoned = client
    await client.disconnect()
    await abandoned.disconnect()


async def test_failed_connections_are_tried_again(bluez):
    await bluez.tell("fail_connects", index=1, n=3)
    async with watching(BleSource(BOTH, timing=HURRIED)) as watch:
        await streaming(watch, ARM, GRIP)
    assert watch.links(GRIP).count((LinkState.LOST, LinkReason.CONNECT_FAILED)) == 3
    assert (await bluez.state(1)).n_connects == 4
    lost = [e.arrival_ns for e in watch.events if getattr(e, "state", None) is LinkState.LOST]
    waits_s = [(after - before) / 1e9 for before, after in itertools.pairwise(lost)]
    assert waits_s[0] >= 0.05  # the back-off of a first and second failure, at a tenth
    assert waits_s[1] >= 0.10
    assert_complete(watch.sequences(ARM))


async def test_the_adapter_switched_off_and_on_again(bluez):
    async with watching(BleSource(BOTH, timing=HURRIED)) as watch:
        await streaming(watch, ARM, GRIP)
        await bluez.tell("power", on=False)
        for sensor in BOTH:
            await watch.link(sensor, LinkState.SEARCHING, LinkReason.ADAPTER_OFF)
            assert (LinkState.LOST, LinkReason.DROPPED) in watch.links(sensor)
        await bluez.tell("power", on=True)
        await streaming(watch, ARM, GRIP)
    for sensor in BOTH:
        # Said once, however often it was tried.
        assert watch.links(sensor).count((LinkState.SEARCHING, LinkReason.ADAPTER_OFF)) == 1


async def test_the_adapter_switched_off_during_a_search(bluez):
    await bluez.tell("advertise", index=0, on=False)
    async with watching(BleSource({ARM: Role.FOREARM}, timing=HURRIED)) as watch:
        await watch.link(ARM, LinkState.SEARCHING, LinkReason.NOT_FOUND)
        await bluez.tell("power", on=False)
        await watch.link(ARM, LinkState.SEARCHING, LinkReason.ADAPTER_OFF)
        await bluez.tell("power", on=True)
        await bluez.tell("advertise", index=0, on=True)
        await streaming(watch, ARM)


async def test_a_missing_sensor_is_said_and_does_not_hold_up_the_other(bluez):
    await bluez.tell("advertise", index=1, on=False)
    async with watching(BleSource(BOTH, timing=HURRIED)) as watch:
        await watch.link(GRIP, LinkState.SEARCHING, LinkReason.NOT_FOUND)
        await streaming(watch, ARM)
        assert not watch.packets(GRIP)
        await bluez.tell("advertise", index=1, on=True)
        await streaming(watch, GRIP)
    assert watch.links(GRIP)[:2] == [
        (LinkState.SEARCHING, LinkReason.NONE),
        (LinkState.SEARCHING, LinkReason.NOT_FOUND),
    ]
    assert_complete(watch.sequences(ARM))


async def test_rounds_of_scanning_for_a_missing_sensor_are_not_waited_for(bluez):
    """Neither at the start nor after a drop; one round would take longer than this test has."""
    await bluez.tell("advertise", index=1, on=False)
    async with watching(BleSource(BOTH, timing=replace(HURRIED, scan_round_s=120.0))) as watch:
        await streaming(watch, ARM)
        await bluez.tell("drop", index=0)
        await watch.link(ARM, LinkState.LOST, LinkReason.DROPPED)
        await streaming(watch, ARM)
        await bluez.tell("advertise", index=1, on=True)
        await streaming(watch, GRIP)


async def test_a_silent_sensor_is_connected_anew(bluez):
    async with watching(BleSource(BOTH, timing=HURRIED)) as watch:
        await streaming(watch, ARM, GRIP)
        await bluez.tell("silence", index=0, on=True)
        await watch.link(ARM, LinkState.LOST, LinkReason.SILENT)
        await bluez.tell("silence", index=0, on=False)
        await streaming(watch, ARM)
    assert (await bluez.state(0)).n_connects >= 2
    sequences = watch.sequences(ARM)
    assert sequences == sorted(set(sequences))
    assert_complete(watch.sequences(GRIP))


async def test_battery_levels_come_as_they_change(bluez):
    async with watching(BleSource({ARM: Role.FOREARM}, timing=HURRIED)) as watch:
        await streaming(watch, ARM)
        await bluez.tell("battery", index=0, pct=41)
        await watch.until(lambda: watch.batteries(ARM) == [87, 41])


async def test_a_sensor_without_identity_and_battery_streams(bus):
    from sensors.profiles.open_imu import BATTERY_LEVEL_UUID, MANUFACTURER_UUID, MODEL_UUID

    bare = Identity(address=ARM, name="Bare", lacks=(BATTERY_LEVEL_UUID, MANUFACTURER_UUID, MODEL_UUID, FIRMWARE_UUID))
    async with FakeBluez([bare]), watching(BleSource({ARM: Role.FOREARM}, timing=HURRIED)) as watch:
        await streaming(watch, ARM)
    assert watch.infos(ARM)[0].firmware == ""
    assert watch.batteries(ARM) == []


async def test_the_wrong_device_is_said(bus):
    stranger = Identity(address=ARM, name="Stranger", lacks=(CONTROL_UUID,))
    async with FakeBluez([stranger, CLUB]) as bluez, watching(BleSource(BOTH, timing=HURRIED)) as watch:
        await watch.link(ARM, LinkState.LOST, LinkReason.WRONG_DEVICE)
        await streaming(watch, GRIP)
        await watch.until(lambda: watch.links(ARM).count((LinkState.LOST, LinkReason.WRONG_DEVICE)) >= 2)
        assert not (await bluez.state(0)).commands
        with pytest.raises(RadioError) as caught:
            await identify(ARM, timing=HURRIED)
        assert caught.value.reason is LinkReason.IN_USE  # by the source
    async with FakeBluez([stranger]):
        with pytest.raises(RadioError) as caught:
            await identify(ARM, timing=HURRIED)
    assert caught.value.reason is LinkReason.WRONG_DEVICE
    assert not watch.packets(ARM)


async def test_a_sensor_left_connected_by_a_program_that_died(bluez):
    await bluez.tell("leave_connected", index=0)
    async with watching(BleSource(BOTH, timing=HURRIED)) as watch:
        await streaming(watch, ARM, GRIP)
    assert (await bluez.state(0)).n_connects == 0  # the connection that was there is used


async def test_addresses_may_be_typed_in_lower_case(bluez):
    sensor = SensorId(ARM.lower())
    async with watching(BleSource({sensor: Role.FOREARM}, timing=HURRIED)) as watch:
        await streaming(watch, sensor)


async def test_the_bluetooth_service_dies_and_comes_back(bus, kernel_adapters):
    async with FakeBluez() as bluez, watching(BleSource(BOTH, timing=HURRIED)) as watch:
        await streaming(watch, ARM, GRIP)
        await bluez.crash()
        for sensor in BOTH:
            await watch.link(sensor, LinkState.SEARCHING, LinkReason.SERVICE_OFF)
        async with FakeBluez():
            await streaming(watch, ARM, GRIP)


async def test_the_system_bus_dies_and_comes_back(tmp_path, kernel_adapters):
    with private_bus(tmp_path) as address:
        bluez = await FakeBluez().__aenter__()
        source = BleSource(BOTH, timing=HURRIED)
        reading = watching(source)
        watch = await reading.__aenter__()
        await streaming(watch, ARM, GRIP)
        await bluez.crash()
    try:
        with system_bus_at(address):
            for sensor in BOTH:
                await watch.link(sensor, LinkState.SEARCHING, LinkReason.SERVICE_OFF)
        (tmp_path / "bus").unlink(missing_ok=True)
        with private_bus(tmp_path):
            async with FakeBluez():
                await streaming(watch, ARM, GRIP)
                await reading.__aexit__(None, None, None)
    finally:
        await source.__aexit__(None, None, None)


async def test_a_slow_reader_loses_packets_by_count_not_silently(bluez):
    async with BleSource({ARM: Role.FOREARM}, timing=HURRIED, max_events=65 + 8) as source:
        async with asyncio.timeout(30):
            while source.n_dropped < 5:
                await asyncio.sleep(0.05)  # nobody reads
        await bluez.tell("silence", index=0, on=True)
        n_sent = (await bluez.state(0)).n_sent
        received = []
        async for event in source:
            received.append(event)
            if getattr(event, "reason", None) is LinkReason.SILENT:
                break
        assert sum(isinstance(event, RawPacket) for event in received) == n_sent - source.n_dropped


async def test_a_bug_ends_the_iteration_as_itself(bluez):
    class Broken(Exception):
        pass

    n_calls = 0

    def clock() -> int:
        nonlocal n_calls
        n_calls += 1
        if n_calls > 12:  # by then it is called for packets
            raise Broken
        return time.monotonic_ns()

    async with BleSource({ARM: Role.FOREARM}, timing=HURRIED, clock=clock) as source:
        with pytest.raises(Broken):
            async with asyncio.timeout(30):
                [event async for event in source]
    assert not (await bluez.state(0)).connected


async def test_a_practice_from_a_file_is_streamed_together(bus, tmp_path):
    file = tmp_path / "practice.jsonl"
    rows = [(due_s, index, payload) for index in (0, 1) for due_s, payload in itertools.islice(synthetic(index), 12)]
    write_practice(file, sorted(rows))
    async with FakeBluez(practice=file), watching(BleSource(BOTH, timing=HURRIED)) as watch:
        await watch.until(lambda: all(len(watch.packets(sensor)) == 12 for sensor in BOTH))
    for index, sensor in enumerate(BOTH):
        assert [p.payload for p in watch.packets(sensor)] == [payload for _, i, payload in rows if i == index]


async def test_a_source_without_sensors_or_entered_twice_is_refused(bluez):
    with pytest.raises(ValueError, match="no sensor"):
        BleSource({})
    source = BleSource({ARM: Role.FOREARM}, timing=HURRIED)
    async with source:
        pass
    with pytest.raises(RuntimeError, match="make another"):
        await source.__aenter__()
