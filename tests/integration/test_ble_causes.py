"""Why a link is down, told apart over bleak's BlueZ backend: distance, the switch, the battery, another program, the system."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from contextlib import asynccontextmanager
from dataclasses import replace

import pytest

if sys.platform != "linux":
    pytest.skip("BlueZ is Linux's Bluetooth; elsewhere bleak talks to another system", allow_module_level=True)

from sensors.errors import RadioError
from sensors.events import LinkReason, LinkState, SensorPlaced
from sensors.ids import Role
from sensors.sources.ble import BleSource, identify
from tests.integration.ble.bluez_process import FakeBluez
from tests.integration.ble.private_bus import private_bus
from tests.integration.ble.stand import ARM, BOTH, GRIP, HURRIED, assert_complete, streaming
from tests.integration.ble.watch import watching

ONE = {ARM: Role.FOREARM}
SECOND = """
import asyncio, sys
from sensors.ids import Role
from sensors.sources.ble import BleSource
from tests.integration.ble.stand import ARM, HURRIED
from tests.integration.ble.watch import watching

async def main():
    async with watching(BleSource({ARM: Role.FOREARM}, timing=HURRIED)) as watch:
        await watch.packets_of(ARM, 3)
        print("streaming", flush=True)
        await asyncio.get_running_loop().run_in_executor(None, sys.stdin.readline)

asyncio.run(main())
"""


async def test_a_sensor_is_listed_at_its_place_before_it_was_ever_heard(bluez):
    for index in (0, 1):
        await bluez.tell("advertise", index=index, on=False)
    async with watching(BleSource(BOTH, timing=HURRIED)) as watch:
        for sensor in BOTH:
            await watch.link(sensor, LinkState.SEARCHING, LinkReason.NOT_FOUND)
    placed = [event for event in watch.events if isinstance(event, SensorPlaced)]
    assert {event.sensor: event.role for event in placed} == BOTH
    for event in placed:
        first = next(e for e in watch.events if e.sensor == event.sensor)
        assert first is event


async def test_one_that_was_heard_weakly_is_out_of_range(bluez):
    await bluez.tell("signal", index=0, rssi_dbm=-91)
    async with watching(BleSource(ONE, timing=HURRIED)) as watch:
        await streaming(watch, ARM)
        await bluez.tell("advertise", index=0, on=False)
        await bluez.tell("drop", index=0)
        await watch.link(ARM, LinkState.LOST, LinkReason.OUT_OF_RANGE)
        await watch.link(ARM, LinkState.SEARCHING, LinkReason.OUT_OF_RANGE)
        await bluez.tell("signal", index=0, rssi_dbm=-60)
        await bluez.tell("advertise", index=0, on=True)
        await streaming(watch, ARM)
        await bluez.tell("drop", index=0)
        await watch.link(ARM, LinkState.LOST, LinkReason.DROPPED)  # nothing tells why


async def test_what_is_known_of_it_goes_on_being_said_while_it_is_away(bluez):
    await bluez.tell("signal", index=0, rssi_dbm=-91)
    async with watching(BleSource(BOTH, timing=HURRIED)) as watch:
        await streaming(watch, ARM, GRIP)
        for index in (0, 1):
            await bluez.tell("advertise", index=index, on=False)
            await bluez.tell("drop", index=index)
        await watch.link(GRIP, LinkState.SEARCHING, LinkReason.NOT_FOUND)
        await watch.link(ARM, LinkState.SEARCHING, LinkReason.OUT_OF_RANGE)
    assert (LinkState.SEARCHING, LinkReason.NOT_FOUND) not in watch.links(ARM)


async def test_one_that_was_heard_weakly_and_never_connected_is_out_of_range(bluez):
    await bluez.tell("signal", index=0, rssi_dbm=-91)
    await bluez.tell("fail_connects", index=0, n=1_000)
    async with watching(BleSource(ONE, timing=HURRIED)) as watch:
        await watch.link(ARM, LinkState.LOST, LinkReason.CONNECT_FAILED)
        await bluez.tell("advertise", index=0, on=False)
        await watch.link(ARM, LinkState.SEARCHING, LinkReason.OUT_OF_RANGE)


async def test_a_signal_measured_otherwise_counts_as_well(bluez):
    source = BleSource(ONE, timing=HURRIED)
    async with watching(source) as watch:
        await streaming(watch, ARM)
        for rssi_dbm in (-62, -70, -78):
            source.note_signal(ARM, rssi_dbm)
        await bluez.tell("drop", index=0)
        await watch.link(ARM, LinkState.LOST, LinkReason.OUT_OF_RANGE)


async def test_one_that_said_good_bye_was_switched_off(bluez):
    async with watching(BleSource(ONE, timing=HURRIED)) as watch:
        await streaming(watch, ARM)
        await bluez.tell("advertise", index=0, on=False)
        await bluez.tell("drop", index=0, reason="org.bluez.Reason.Remote")
        # The link may be seen to go before it is known why; the search for it says so.
        await watch.link(ARM, LinkState.SEARCHING, LinkReason.SWITCHED_OFF)
        await bluez.tell("advertise", index=0, on=True)
        await streaming(watch, ARM)
        n_before = len(watch.links(ARM))
        await bluez.tell("drop", index=0, reason="org.bluez.Reason.Timeout")
        await watch.until(lambda: any(state is LinkState.LOST for state, _ in watch.links(ARM)[n_before:]))
        assert (LinkState.LOST, LinkReason.DROPPED) in watch.links(ARM)[n_before:]


async def test_one_with_an_empty_battery_has_run_down(bluez):
    async with watching(BleSource(ONE, timing=HURRIED)) as watch:
        await streaming(watch, ARM)
        for pct in (21, 20, 5, 4):
            await bluez.tell("battery", index=0, pct=pct)
        await watch.until(lambda: watch.batteries(ARM)[-1] == 4)
        await bluez.tell("advertise", index=0, on=False)
        await bluez.tell("drop", index=0)
        await watch.link(ARM, LinkState.LOST, LinkReason.BATTERY_EMPTY)
        await watch.link(ARM, LinkState.SEARCHING, LinkReason.BATTERY_EMPTY)
    assert (LinkState.SEARCHING, LinkReason.NOT_FOUND) not in watch.links(ARM)


@pytest.mark.parametrize("error", ["org.bluez.Error.InProgress", "org.bluez.Error.AlreadyConnected"])
async def test_one_that_another_client_is_connecting_to_is_in_use(bluez, error):
    await bluez.tell("fail_connects", index=0, n=2, error=error)
    async with watching(BleSource(ONE, timing=HURRIED)) as watch:
        await streaming(watch, ARM)
    assert watch.links(ARM).count((LinkState.LOST, LinkReason.IN_USE)) == 2
    assert (LinkState.CONNECTING, LinkReason.IN_USE) in watch.links(ARM)  # it goes on being said until it is over


async def test_notifications_that_another_client_has_taken_are_in_use(bluez):
    await bluez.tell("acquire", index=0, on=True)
    async with watching(BleSource(BOTH, timing=HURRIED)) as watch:
        await watch.link(ARM, LinkState.LOST, LinkReason.IN_USE)
        await streaming(watch, GRIP)
        await bluez.tell("acquire", index=0, on=False)
        await streaming(watch, ARM)
    assert_complete(watch.sequences(GRIP))


@asynccontextmanager
async def second_pitchbend():
    """Another program of this machine that streams from the forearm sensor until it is told to stop, or killed."""
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-c", SECOND, stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE
    )
    assert await process.stdout.readline() == b"streaming\n"
    try:
        yield process
    finally:
        if process.returncode is None:
            process.kill()
        await process.wait()


async def test_a_second_pitchbend_waits_until_the_first_lets_go(bluez):
    async with second_pitchbend() as first, watching(BleSource(BOTH, timing=HURRIED)) as watch:
        await watch.link(ARM, LinkState.SEARCHING, LinkReason.IN_USE)
        await streaming(watch, GRIP)
        with pytest.raises(RadioError) as caught:
            await identify(ARM, timing=HURRIED)
        assert caught.value.reason is LinkReason.IN_USE
        assert not watch.packets(ARM)
        before = (await bluez.state(0)).commands
        first.stdin.write(b"\n")
        assert await first.wait() == 0
        await streaming(watch, ARM)
    after = (await bluez.state(0)).commands[len(before) :]
    assert after[:3] == ["00", "01", "00"]  # the first stopped its own stream before the second began one


async def test_a_second_pitchbend_that_dies_lets_go_as_well(bluez):
    async with second_pitchbend() as first, watching(BleSource(ONE, timing=HURRIED)) as watch:
        await watch.link(ARM, LinkState.SEARCHING, LinkReason.IN_USE)
        first.kill()
        await first.wait()
        await streaming(watch, ARM)


@pytest.mark.parametrize("gather", [False, True])
async def test_one_that_another_program_listens_to_is_left_to_it(bluez, gather):
    await bluez.tell("leave_connected", index=0)
    await bluez.tell("listen_elsewhere", index=0, on=True)
    source = BleSource({} if gather else BOTH, gather=gather, timing=HURRIED)
    async with watching(source) as watch:
        await watch.link(ARM, LinkState.SEARCHING, LinkReason.IN_USE)
        await streaming(watch, GRIP)
        assert (await bluez.state(0)).connected  # nobody was thrown out
        assert (await bluez.state(0)).commands == []
        await bluez.tell("listen_elsewhere", index=0, on=False)
        await streaming(watch, ARM)
    assert (await bluez.state(0)).n_connects == 0


async def test_a_permission_that_is_given_is_used_at_once(tmp_path):
    with private_bus(tmp_path, deny_bluetooth=True):
        async with FakeBluez(), watching(BleSource(ONE, timing=HURRIED)) as watch:
            await watch.link(ARM, LinkState.SEARCHING, LinkReason.PERMISSION_DENIED)
            config = tmp_path / "bus.conf"
            config.write_text(config.read_text().replace('<deny send_destination="org.bluez"/>', ""))
            os.kill(int((tmp_path / "bus.pid").read_text()), signal.SIGHUP)  # it reads its configuration again
            await streaming(watch, ARM)


async def test_an_adapter_that_is_plugged_in_is_used_at_once(bus, kernel_adapters):
    async with watching(BleSource(ONE, timing=HURRIED)) as watch:
        await watch.link(ARM, LinkState.SEARCHING, LinkReason.SERVICE_OFF)
        async with FakeBluez(adapter=False) as bluez:
            await watch.link(ARM, LinkState.SEARCHING, LinkReason.NO_ADAPTER)
            await bluez.tell("plug", on=True)
            await streaming(watch, ARM)
            await bluez.tell("plug", on=False)
            await watch.until(lambda: watch.links(ARM)[-1] == (LinkState.SEARCHING, LinkReason.NO_ADAPTER))
            await bluez.tell("plug", on=True)
            await streaming(watch, ARM)


async def test_an_adapter_that_does_not_search_is_not_said_to_be_missing(bluez, kernel_adapters):
    await bluez.tell("stick", on=True)
    async with watching(BleSource(ONE, timing=HURRIED)) as watch:
        await watch.link(ARM, LinkState.SEARCHING, LinkReason.ADAPTER_STUCK)
        await bluez.tell("stick", on=False)
        await streaming(watch, ARM)
    assert LinkReason.NO_ADAPTER not in {reason for _, reason in watch.links(ARM)}


async def test_what_is_cured_is_no_longer_said(bluez):
    await bluez.tell("power", on=False)
    await bluez.tell("advertise", index=0, on=False)
    async with watching(BleSource(ONE, timing=replace(HURRIED, not_found_s=60.0))) as watch:
        await watch.link(ARM, LinkState.SEARCHING, LinkReason.ADAPTER_OFF)
        await bluez.tell("power", on=True)
        await watch.until(lambda: watch.links(ARM)[-1] == (LinkState.SEARCHING, LinkReason.NONE))
