"""Three pairs over one adapter, each in its own source, through bleak's BlueZ backend on a private D-Bus."""

from __future__ import annotations

import sys
from contextlib import AsyncExitStack
from dataclasses import replace

import pytest

if sys.platform != "linux":
    pytest.skip("BlueZ is Linux's Bluetooth; elsewhere bleak talks to another system", allow_module_level=True)

from sensors.errors import RadioError
from sensors.events import LinkReason, LinkState, SensorPlaced
from sensors.ids import PAIR, Role, SensorId
from sensors.sources.ble import BleSource, SharedRadio
from tests.integration.ble.bluez_process import FakeBluez
from tests.integration.ble.stand import HURRIED, assert_complete, assert_in_order, streaming
from tests.integration.ble.virtual_sensor import Identity
from tests.integration.ble.watch import watching

SIX = [Identity(address=f"C0:00:00:00:00:1{nth}", name=f"Reed {nth}") for nth in range(6)]
SENSORS = [SensorId(sensor.address) for sensor in SIX]
BAYS = {
    name: dict(zip(SENSORS[2 * nth : 2 * nth + 2], PAIR, strict=True))
    for nth, name in enumerate(("Anna", "Bodil", "Carl"))
}
LOST_AND_FOUND = [
    (LinkState.LOST, LinkReason.DROPPED),
    (LinkState.SEARCHING, LinkReason.DROPPED),
    (LinkState.CONNECTING, LinkReason.NONE),
    (LinkState.STREAMING, LinkReason.NONE),
]


async def opened(exits, shared, bays=BAYS):
    """Open a source and a watch a bay, in the order given."""
    made = {}
    for name, roles in bays.items():
        source = BleSource(roles, gather=not roles, shared=shared, bay=name)
        made[name] = source, await exits.enter_async_context(watching(source))
    return made


async def all_stream(bays):
    for name, (_, watch) in bays.items():
        await streaming(watch, *BAYS[name])


def last_place(watch):
    return {event.sensor: event.role for event in watch.events if isinstance(event, SensorPlaced)}


async def test_three_pairs_stream_and_what_happens_to_one_is_nothing_to_the_others(bus):
    async with FakeBluez(SIX) as bluez, AsyncExitStack() as exits:
        bays = await opened(exits, SharedRadio(timing=HURRIED))
        await all_stream(bays)
        await bluez.tell("drop", index=3)  # Bodil's club
        watch = bays["Bodil"][1]
        await watch.until(lambda: watch.links(SENSORS[3])[-4:] == LOST_AND_FOUND)
        await all_stream(bays)
        book = await bluez.tell("book")
        n_sent = [(await bluez.state(index)).n_sent for index in range(6)]
        for name, (_, watch) in bays.items():
            for sensor in BAYS[name]:
                index = SENSORS.index(sensor)
                await watch.until(lambda w=watch, s=sensor, i=index: w.sequences(s)[-1] >= n_sent[i] - 1)
    assert (book["most_connecting"], book["met_while_searching"], book["n_discoveries_refused"]) == (1, 0, 0)
    for name, (_, watch) in bays.items():
        assert {event.sensor for event in watch.events} == set(BAYS[name])  # nothing of another bay's
        assert last_place(watch) == BAYS[name]
        assert_in_order(watch)
        for sensor in BAYS[name]:
            sequences = watch.sequences(sensor)
            if sensor == SENSORS[3]:
                assert sequences == sorted(set(sequences))
            else:
                assert sequences[0] == 0
                assert_complete(sequences)
                assert [state for state, _ in watch.links(sensor)] == [
                    LinkState.SEARCHING,
                    LinkState.CONNECTING,
                    LinkState.STREAMING,
                ]


async def test_six_sensors_that_are_all_in_reach_cost_one_scan(bus):
    async with FakeBluez(SIX) as bluez, AsyncExitStack() as exits:
        bays = await opened(exits, SharedRadio(timing=replace(HURRIED, scan_round_s=5.0, gather_s=5.0)))
        await all_stream(bays)
        assert (await bluez.tell("book"))["n_discoveries"] == 1


async def test_sources_that_do_not_share_get_into_each_others_way(bus):
    """Why there is a shared radio: the fake does what adapters do, so the check above can fail."""
    async with FakeBluez(SIX) as bluez, AsyncExitStack() as exits:
        bays = {}
        for name, roles in BAYS.items():
            source = BleSource(roles, timing=HURRIED)
            bays[name] = source, await exits.enter_async_context(watching(source))
        await all_stream(bays)
        book = await bluez.tell("book")
        assert book["n_discoveries_refused"] > 0


async def test_the_adapter_switched_off_and_on_again_brings_all_bays_back(bus):
    async with FakeBluez(SIX) as bluez, AsyncExitStack() as exits:
        bays = await opened(exits, SharedRadio(timing=HURRIED))
        await all_stream(bays)
        await bluez.tell("power", on=False)
        for name, (_, watch) in bays.items():
            for sensor in BAYS[name]:
                await watch.link(sensor, LinkState.SEARCHING, LinkReason.ADAPTER_OFF)
        await bluez.tell("power", on=True)
        await all_stream(bays)
        book = await bluez.tell("book")
        assert (book["most_connecting"], book["met_while_searching"], book["n_discoveries_refused"]) == (1, 0, 0)
        assert [(await bluez.state(index)).n_listeners for index in range(6)] == [1] * 6
    for name, (_, watch) in bays.items():
        for sensor in BAYS[name]:
            assert watch.links(sensor).count((LinkState.SEARCHING, LinkReason.ADAPTER_OFF)) == 1
            assert watch.sequences(sensor) == sorted(set(watch.sequences(sensor)))
        assert_in_order(watch)


async def test_a_bay_that_ends_leaves_the_others_streaming(bus):
    async with FakeBluez(SIX) as bluez, AsyncExitStack() as exits:
        shared = SharedRadio(timing=HURRIED)
        bays = await opened(exits, shared, {name: BAYS[name] for name in ("Bodil", "Carl")})
        async with watching(BleSource(BAYS["Anna"], shared=shared, bay="Anna")) as watch:
            await streaming(watch, *BAYS["Anna"])
        await all_stream(bays)
        assert shared.n_followed == 4
        assert not (await bluez.state(0)).connected
    for name, (_, watch) in bays.items():
        for sensor in BAYS[name]:
            assert_complete(watch.sequences(sensor))


async def test_a_sensor_worn_in_one_bay_is_not_to_be_had_in_another(bus):
    async with FakeBluez(SIX), AsyncExitStack() as exits:
        bays = await opened(
            exits, SharedRadio(timing=replace(HURRIED, gather_rest_s=0.1)), {"Anna": BAYS["Anna"], "Bodil": {}}
        )
        (anna, at_anna), (bodil, at_bodil) = bays.values()
        await streaming(at_anna, *BAYS["Anna"])
        await streaming(at_bodil, *SENSORS[2:6])  # more than her own two: she has yet to say which
        assert {worn.sensor: (worn.name, worn.bay) for worn in bodil.controls.worn_elsewhere} == {
            SENSORS[0]: ("Reed 0", "Anna"),
            SENSORS[1]: ("Reed 1", "Anna"),
        }
        for sensor in (SENSORS[0], SensorId(SENSORS[0].lower())):
            with pytest.raises(RadioError) as caught:
                bodil.controls.place({SENSORS[2]: Role.FOREARM, sensor: Role.CLUB})
            assert caught.value.reason is LinkReason.IN_USE
        assert set(last_place(at_bodil).values()) == {Role.SPARE}  # all or nothing
        bodil.controls.place(BAYS["Bodil"])
        bodil.controls.gather(on=False)
        await at_bodil.link(SENSORS[4], LinkState.STOPPED)
        assert {worn.bay for worn in anna.controls.worn_elsewhere} == {"Bodil"}
        await streaming(at_bodil, *BAYS["Bodil"])
    assert set(last_place(at_bodil)) == set(SENSORS[2:6])
    for sensor in BAYS["Anna"]:
        assert_complete(at_anna.sequences(sensor))


async def test_bays_choose_one_after_the_other_and_who_asks_again_goes_first(bus):
    async with FakeBluez(SIX), AsyncExitStack() as exits:
        shared = SharedRadio(timing=replace(HURRIED, gather_rest_s=0.1))
        bays = await opened(exits, shared, {"Anna": {}, "Bodil": {}})
        (anna, at_anna), (bodil, at_bodil) = bays.values()
        await streaming(at_anna, *SENSORS[:4])
        assert (anna.controls.waits_for, bodil.controls.waits_for) == (None, "Anna")
        assert not at_bodil.events
        bodil.controls.gather(on=True)  # nobody is at Anna's page: Bodil taps again
        await streaming(at_bodil, *SENSORS[:4])
        assert (anna.controls.waits_for, bodil.controls.waits_for) == ("Bodil", None)
        assert all(at_anna.links(sensor)[-1][0] is LinkState.STOPPED for sensor in SENSORS[:4])
        bodil.controls.place(BAYS["Bodil"])
        bodil.controls.gather(on=False)
        n_events = len(at_anna.events)
        await at_anna.until(lambda: len(at_anna.events) > n_events)
        await streaming(at_anna, SENSORS[0], SENSORS[1], SENSORS[4], SENSORS[5])
        anna.controls.place(BAYS["Anna"])
        anna.controls.gather(on=False)
        await streaming(at_anna, *BAYS["Anna"])
        await streaming(at_bodil, *BAYS["Bodil"])
    assert {s for s in last_place(at_anna) if last_place(at_anna)[s] is not Role.SPARE} == set(BAYS["Anna"])
    assert not [s for s in SENSORS if s in BAYS["Bodil"] and at_anna.links(s)[-1][0] is LinkState.STREAMING]
