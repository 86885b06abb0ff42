"""Choosing among all sensors in reach, over bleak's BlueZ backend: gathered, placed, exchanged, let go; and how long it takes."""

from __future__ import annotations

import sys
import time
from dataclasses import replace

import pytest

if sys.platform != "linux":
    pytest.skip("BlueZ is Linux's Bluetooth; elsewhere bleak talks to another system", allow_module_level=True)

from sensors.errors import RadioError
from sensors.events import LinkReason, LinkState, SensorPlaced
from sensors.ids import Role, SensorId
from sensors.sources.base import controls_of
from sensors.sources.ble import BleSource
from tests.integration.ble.bluez_process import FakeBluez
from tests.integration.ble.identities import CLUB, FOREARM
from tests.integration.ble.stand import ARM, BOTH, GRIP, HURRIED, assert_complete, assert_in_order, streaming
from tests.integration.ble.virtual_sensor import Identity
from tests.integration.ble.watch import watching

HIP = SensorId("C0:00:00:00:00:0C")
THREE = (FOREARM, CLUB, Identity(address=HIP, name="Reed C"))


def roles(watch):
    """The place that each sensor said last that it has."""
    return {event.sensor: event.role for event in watch.events if isinstance(event, SensorPlaced)}


async def test_every_sensor_in_reach_streams_and_those_without_a_place_are_let_go(bus):
    async with FakeBluez(THREE) as bluez:
        source = BleSource({}, gather=True, timing=HURRIED)
        assert controls_of(source) is source.controls
        async with watching(source) as watch:
            await streaming(watch, ARM, GRIP, HIP)
            assert set(roles(watch).values()) == {Role.SPARE}
            source.controls.place({ARM: Role.FOREARM})
            source.controls.place({GRIP: Role.CLUB})
            source.controls.gather(on=False)
            await watch.link(HIP, LinkState.STOPPED)
            await streaming(watch, ARM, GRIP)
            n_hip = len(watch.packets(HIP))
            await streaming(watch, ARM, GRIP)
            assert len(watch.packets(HIP)) == n_hip
            assert (await bluez.state(2)).commands == ["01", "00"]
            assert not (await bluez.state(2)).connected
        assert [(await bluez.state(index)).n_connects for index in (0, 1, 2)] == [1, 1, 1]  # no link was made anew
    for sensor, role in BOTH.items():
        assert [info.role for info in watch.infos(sensor)] == [Role.SPARE, role]
        assert_complete(watch.sequences(sensor))
    assert_in_order(watch)


async def test_two_are_exchanged_without_a_lost_packet(bluez):
    source = BleSource(BOTH, timing=HURRIED)
    async with watching(source) as watch:
        await streaming(watch, ARM, GRIP)
        source.controls.place({ARM: Role.CLUB, GRIP: Role.FOREARM})
        await streaming(watch, ARM, GRIP)
    assert [info.role for info in watch.infos(ARM)] == [Role.FOREARM, Role.CLUB]
    assert [info.role for info in watch.infos(GRIP)] == [Role.CLUB, Role.FOREARM]
    for sensor in BOTH:
        assert_complete(watch.sequences(sensor))
        assert (LinkState.STOPPED, LinkReason.NONE) not in watch.links(sensor)
    infos = [i for i, event in enumerate(watch.events) if event in (watch.infos(ARM)[1], watch.infos(GRIP)[1])]
    between = watch.events[infos[0] : infos[1]]
    assert not [event for event in between if not hasattr(event, "role")]  # at once: no packet has a place twice


async def test_a_place_given_to_another_is_taken_from_the_one_before(bus):
    async with FakeBluez(THREE) as bluez:
        source = BleSource(BOTH, timing=HURRIED)
        async with watching(source) as watch:
            await streaming(watch, ARM, GRIP)
            source.controls.place({HIP: Role.CLUB})
            await watch.link(GRIP, LinkState.STOPPED)
            await streaming(watch, HIP, ARM)
        assert not (await bluez.state(1)).connected
    assert roles(watch) == {ARM: Role.FOREARM, GRIP: Role.SPARE, HIP: Role.CLUB}
    assert_complete(watch.sequences(ARM))


async def test_a_third_and_further_sensors_are_worn_elsewhere(bus):
    async with FakeBluez(THREE), watching(BleSource(BOTH | {HIP: Role.PELVIS}, timing=HURRIED)) as watch:
        await streaming(watch, ARM, GRIP, HIP)
    assert [info.role for info in watch.infos(HIP)] == [Role.PELVIS]


async def test_one_that_streams_blinks(bluez):
    source = BleSource(BOTH, timing=HURRIED)
    async with watching(source) as watch:
        await streaming(watch, ARM, GRIP)
        await source.controls.blink(GRIP)
        assert (await bluez.state(1)).commands == ["01", "02"]
        with pytest.raises(RadioError) as caught:
            await source.controls.blink(HIP)
        assert caught.value.reason is LinkReason.NOT_FOUND
        await bluez.tell("advertise", index=1, on=False)
        await bluez.tell("drop", index=1)
        await watch.link(GRIP, LinkState.LOST, LinkReason.DROPPED)
        with pytest.raises(RadioError):
            await source.controls.blink(GRIP)
    assert_complete(watch.sequences(ARM))


async def test_a_radio_that_is_off_while_choosing_is_known(bluez):
    await bluez.tell("power", on=False)
    source = BleSource({}, gather=True, timing=HURRIED)
    async with watching(source) as watch:
        await bluez.state(0)
        while source.controls.trouble is LinkReason.NONE:
            await bluez.state(0)
        assert source.controls.trouble is LinkReason.ADAPTER_OFF
        await bluez.tell("power", on=True)
        await streaming(watch, ARM, GRIP)
        assert source.controls.trouble is LinkReason.NONE


async def test_from_nothing_to_two_streams_with_the_usual_patience(bluez, capsys):
    """Remembered, and chosen from what is in reach: the figure is the program's share, with a radio that answers at once."""
    for name, source in (("remembered", BleSource(BOTH)), ("gathered", BleSource({}, gather=True))):
        began_s = time.monotonic()
        async with watching(source) as watch:
            await streaming(watch, ARM, GRIP)
        with capsys.disabled():
            print(f"\n{name}: {time.monotonic() - began_s:.2f} s from start to two streams")


async def test_a_drop_while_choosing_is_searched_for_and_not_taken_for_there(bluez):
    """A sensor that streams while others are looked for must be scanned for after a drop, like any other."""
    source = BleSource(BOTH, gather=True, timing=replace(HURRIED, gather_rest_s=0.1))
    async with watching(source) as watch:
        await streaming(watch, ARM, GRIP)
        await streaming(watch, ARM, GRIP)  # several rounds of gathering pass
        await bluez.tell("advertise", index=0, on=False)
        await bluez.tell("drop", index=0)
        await watch.link(ARM, LinkState.SEARCHING, LinkReason.NOT_FOUND)
        n_connects = (await bluez.state(0)).n_connects
        await bluez.tell("advertise", index=0, on=True)
        await streaming(watch, ARM)
        assert (await bluez.state(0)).n_connects == n_connects + 1 == 2
    assert_complete(watch.sequences(GRIP))
