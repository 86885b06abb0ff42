"""Sensors of several kinds at once, through bleak's own BlueZ backend: each found, started, read and recorded by its profile."""

from __future__ import annotations

import sys

import numpy as np
import pytest

if sys.platform != "linux":
    pytest.skip("BlueZ is Linux's Bluetooth; elsewhere bleak talks to another system", allow_module_level=True)

from sensors.events import LinkReason, LinkState, SensorInfo
from sensors.ids import Role, SensorId
from sensors.ingest import Ingest
from sensors.profiles.load import load_profile
from sensors.profiles.registry import PROFILES, profile_named
from sensors.readings import ImuBlock
from sensors.record.reader import read_events
from sensors.record.writer import Recorder
from sensors.sources.ble import BleSource, identify, scan
from tests.integration.ble.bluez_process import FakeBluez
from tests.integration.ble.stand import ARM, GRIP, HURRIED, assert_in_order
from tests.integration.ble.virtual_sensor import Identity
from tests.integration.ble.watch import watching

THIRD = SensorId("C0:00:00:00:00:0C")
THINGY = Identity(address=ARM, name="Thingy", kind="thingy-52")
MOVESENSE = Identity(address=GRIP, name="Movesense 23150", kind="movesense-gsp")
OPEN = Identity(address=THIRD, name="Reed C")
BOTH = {ARM: Role.FOREARM, GRIP: Role.CLUB}


def blocks_of(events, sensor):
    ingest = Ingest()
    return [
        item for event in events for item in ingest.push(event) if isinstance(item, ImuBlock) and item.sensor == sensor
    ]


async def test_the_one_without_a_clock_and_the_one_with_stamps_in_one_practice(bus, tmp_path):
    async with FakeBluez([THINGY, MOVESENSE]) as bluez:
        async with watching(BleSource(BOTH, timing=HURRIED)) as watch:
            await watch.packets_of_any(ARM, 60)
            await watch.packets_of_any(GRIP, 12)
        states = [await bluez.state(index) for index in (0, 1)]
    assert [state.commands for state in states] == [
        ["f401f401f401640000"],
        [b"\x01\x63/Meas/IMU6/104".hex(), "0263"],
    ]
    assert_in_order(watch)
    kinds = {ARM: "thingy-52", GRIP: "movesense-gsp"}
    for sensor, kind in kinds.items():
        (info,) = watch.infos(sensor)
        assert (info.profile, info.profile_text) == (kind, PROFILES[kind].text)
        assert watch.batteries(sensor) == [87]
    arm, grip = (blocks_of(watch.events, sensor) for sensor in BOTH)
    assert len(arm) == len(watch.packets(ARM))
    rates = np.concatenate([np.degrees(block.gyr_sensor_rad_s[:, 0]) for block in arm]) * 32
    assert rates == pytest.approx(rates[0] + np.arange(len(rates)))  # every sample once, in order
    assert np.concatenate([block.acc_sensor_m_s2 for block in arm])[:, 2] == pytest.approx(9.80665)
    numbers = [np.degrees(block.gyr_sensor_rad_s[0, 0]) for block in grip]
    assert numbers == pytest.approx(numbers[0] + np.arange(len(numbers)))
    assert {len(block.t_s) for block in grip} == {8}
    steps = np.diff(np.concatenate([block.device_s for block in grip]))
    assert steps == pytest.approx(1 / 104, abs=0.0016)

    # What was recorded gives the same numbers, and does not ask which profiles this program knows.
    with Recorder(tmp_path / "a.mcap") as recorder:
        for event in watch.events:
            recorder.write(event)
    again = blocks_of(read_events(tmp_path / "a.mcap"), GRIP)
    assert [block.t_s.tolist() for block in again] == [block.t_s.tolist() for block in grip]
    lost = {health.sensor: health.n_lost for health in _ingested(watch.events).health(watch.events[-1].arrival_ns)}
    assert lost == {ARM: None, GRIP: 0}


def _ingested(events):
    ingest = Ingest()
    for event in events:
        ingest.push(event)
    return ingest


async def test_a_scan_tells_each_ones_kind(bus):
    async with FakeBluez(
        [THINGY, MOVESENSE, OPEN, Identity(address="C0:00:00:00:00:0D", name="Kettle", kind="movesense-gsp")]
    ):
        found = await scan(seconds=0.4)
    assert {(sensor.sensor, sensor.profile.name) for sensor in found} == {
        (ARM, "thingy-52"),
        (GRIP, "movesense-gsp"),
        (THIRD, "open-imu-1"),
    }


async def test_identify_by_the_profiles_own_means(bus):
    async with FakeBluez([THINGY, MOVESENSE]) as bluez:
        assert await identify(ARM, timing=HURRIED)
        assert not await identify(GRIP, timing=HURRIED)  # nothing to blink with
        assert [(await bluez.state(index)).commands for index in (0, 1)] == [["030164"], []]


async def test_settings_are_written_before_the_start(bus):
    wanted = profile_named("open-imu-1@rate_hz=100,acc_range_g=8")
    async with FakeBluez([OPEN]) as bluez:
        async with watching(BleSource({THIRD: Role.CLUB}, profiles=(wanted,), timing=HURRIED)) as watch:
            await watch.packets_of(THIRD, 3)
        assert (await bluez.state(0)).commands == ["036400", "0508", "01", "00"]
    (info,) = watch.infos(THIRD)
    assert info.profile == "open-imu-1@rate_hz=100,acc_range_g=8"
    assert blocks_of([info, *watch.packets(THIRD)], THIRD)


async def test_writes_wait_for_a_response_unless_the_profile_says_not_to(bus):
    text = PROFILES["movesense-gsp"].text
    hasty = load_profile(text.replace("{rate_hz}'\" }", "{rate_hz}'\", response = false }"), "hasty.toml")
    for profile, write_type in ((PROFILES["movesense-gsp"], "request"), (hasty, "command")):
        async with FakeBluez([MOVESENSE]) as bluez:
            async with watching(BleSource({GRIP: Role.CLUB}, profiles=(profile,), timing=HURRIED)) as watch:
                await watch.packets_of_any(GRIP, 1)
            assert (await bluez.state(0)).write_types == [write_type, "request"]


async def test_a_dropped_one_comes_back_in_its_own_kind(bus):
    async with FakeBluez([THINGY, MOVESENSE]) as bluez, watching(BleSource(BOTH, timing=HURRIED)) as watch:
        await watch.packets_of_any(ARM, 5)
        await watch.packets_of_any(GRIP, 4)
        await bluez.tell("drop", index=1)
        await watch.link(GRIP, LinkState.LOST, LinkReason.DROPPED)
        await watch.until(lambda: watch.links(GRIP)[-1][0] is LinkState.STREAMING)
        await watch.packets_of_any(GRIP, 6)
    assert [event.profile for event in watch.events if isinstance(event, SensorInfo) and event.sensor == GRIP] == [
        "movesense-gsp"
    ] * 2
    grip = blocks_of(watch.events, GRIP)
    numbers = [np.degrees(block.gyr_sensor_rad_s[0, 0]) for block in grip]
    assert numbers == sorted(set(numbers))


async def test_a_device_of_no_known_kind_is_said(bus):
    only_open = (PROFILES["open-imu-1"],)
    async with FakeBluez([Identity(address=ARM, name="Reed", kind="thingy-52")]):
        source = BleSource({ARM: Role.FOREARM}, profiles=(*only_open, PROFILES["movesense-gsp"]), timing=HURRIED)
        async with watching(source) as watch:
            await watch.link(ARM, LinkState.LOST, LinkReason.WRONG_DEVICE)
