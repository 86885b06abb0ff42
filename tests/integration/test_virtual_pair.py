"""`pitchbend virtual-pair`: the source over its own air, the pair behind real HCI transports, the command as a person runs it."""

from __future__ import annotations

import asyncio
import os
import signal
import sqlite3
import sys
from contextlib import AsyncExitStack, asynccontextmanager, closing

import pytest
from bumble.controller import Controller
from bumble.transport.tcp_server import open_tcp_server_transport_with_socket
from websockets.asyncio.client import connect

from sensors.events import LinkReason, LinkState, MoveStart
from sensors.ids import Move, Role, SensorId
from sensors.profiles.open_imu import COMMAND_START, unpack
from sensors.record.reader import ReadReport, read_events, read_head
from sensors.sources.ble import BleSource, identify
from sensors.sources.ble_bumble import BumbleRadio, backends_on
from sensors.sources.virtual_pair import VirtualPairSource
from sensors.virtual.air.faults import LOW_BATTERY_PCT, Faults
from sensors.virtual.air.link import IntervalAir
from sensors.virtual.air.pair import ADDRESSES, Blinks, PairSetup, VirtualPair
from sensors.virtual.stage.stage import MoveBegun
from server.web import listen
from tests.integration.ble.watch import watching
from tests.live_service import Client

ARM, GRIP = (SensorId(ADDRESSES[role]) for role in (Role.FOREARM, Role.CLUB))


pytestmark = pytest.mark.usefixtures("quiet_bumble")


async def test_both_are_found_read_and_found_again_and_the_golfer_taps_for_itself():
    source = VirtualPairSource(PairSetup(fit=(Move.STILL, Move.NEUTRAL)))
    async with watching(source) as watch:
        await watch.packets_of(ARM, 20)
        await watch.packets_of(GRIP, 20)
        assert watch.batteries(GRIP) == [90]
        assert [info.firmware for info in watch.infos(ARM)] == ["virtual"]
        assert watch.sequences(ARM) == list(range(len(watch.sequences(ARM))))
        await source.pair.peripherals[Role.CLUB].drop()
        await watch.link(GRIP, LinkState.LOST, LinkReason.DROPPED)
        await watch.until(lambda: watch.links(GRIP)[-1][0] is LinkState.STREAMING)
        await watch.packets_of(GRIP, 5)
        await watch.until(lambda: len([e for e in watch.events if isinstance(e, MoveStart)]) == 2)
    assert [e.move for e in watch.events if isinstance(e, MoveStart)] == [Move.STILL, Move.NEUTRAL]
    stamps = [event.arrival_ns for event in watch.events]
    assert stamps == sorted(stamps)
    grip = watch.sequences(GRIP)
    assert grip == sorted(set(grip))


async def test_a_move_asked_for_on_the_page_is_made_and_not_tapped_again():
    told = []
    source = VirtualPairSource(PairSetup(fit=()), tell=told.append)
    async with watching(source) as watch:
        await watch.packets_of(ARM, 3)
        assert told == []
        source.asked(Move.NEUTRAL)
        await watch.until(lambda: MoveBegun(Move.NEUTRAL) in told)
        source.pair.ask(Move.PALM)  # typed on the terminal: nobody has tapped
        await watch.until(lambda: any(isinstance(event, MoveStart) for event in watch.events))
    assert [event.move for event in watch.events if isinstance(event, MoveStart)] == [Move.PALM]


async def test_trouble_on_purpose_is_what_the_collector_sees():
    faults = Faults(loss=0.3, restart_every_s=2.0, low_battery=True)
    async with watching(VirtualPairSource(PairSetup(faults=faults))) as watch:
        await watch.until(lambda: LOW_BATTERY_PCT in watch.batteries(GRIP))
        await watch.link(GRIP, LinkState.LOST, LinkReason.DROPPED)
        await watch.packets_of(ARM, 20)
    sequences = watch.sequences(ARM)
    first = sequences[: next((k for k in range(1, len(sequences)) if sequences[k] < sequences[k - 1]), len(sequences))]
    assert first[-1] - first[0] + 1 > len(first)  # some never came


async def test_a_restart_begins_its_counters_again():
    source = VirtualPairSource(PairSetup())
    async with watching(source) as watch:
        await watch.packets_of(GRIP, 50)
        before = watch.packets(GRIP)[-1]
        await source.pair.restart(Role.CLUB)
        await watch.link(GRIP, LinkState.LOST, LinkReason.DROPPED)
        await watch.until(lambda: watch.links(GRIP)[-1][0] is LinkState.STREAMING)
        await watch.packets_of(GRIP, 3)
    after = watch.packets(GRIP)[-1]
    counted_s = (unpack(after.payload).clock_us - unpack(before.payload).clock_us) * 1e-6
    passed_s = (after.arrival_ns - before.arrival_ns) * 1e-9
    assert counted_s < passed_s - 1.5  # the clock had run for two and a half seconds, and began again at zero


async def test_speed_goes_for_the_stamps_as_for_the_sensors():
    async with watching(VirtualPairSource(PairSetup(speed=4.0))) as watch:
        await watch.packets_of(ARM, 80)
    packets = watch.packets(ARM)[20:]
    took_s = (packets[-1].arrival_ns - packets[0].arrival_ns) * 1e-9
    assert took_s > 0.6 * (len(packets) - 1) * 0.05  # a quarter, if the stamps ran like the wall clock


async def test_each_sensor_behind_a_controller_of_its_own():
    """Two controllers that are spoken to in HCI over TCP, as over USB or a serial line; the collector on a third."""
    told = []
    air = IntervalAir(0.0075)
    async with AsyncExitStack() as exits:
        places = []
        for number in range(2):
            listener = listen(0)
            exits.callback(_forget, listener)  # Bumble closes the connection and leaves the listener
            transport = await open_tcp_server_transport_with_socket(listener)
            exits.push_async_callback(transport.close)
            Controller(f"adapter {number}", host_source=transport.source, host_sink=transport.sink, link=air)
            places.append(f"tcp-client:127.0.0.1:{listener.getsockname()[1]}")
        pair = await exits.enter_async_context(VirtualPair(PairSetup(transports=tuple(places)), tell=told.append))
        radio = await BumbleRadio.open(air)
        scanner_backend, client_backend = backends_on(radio)
        backends = {"scanner_backend": scanner_backend, "client_backend": client_backend}
        await identify(GRIP, **backends)
        assert Blinks(Role.CLUB) in told
        async with watching(BleSource({ARM: Role.FOREARM, GRIP: Role.CLUB}, **backends)) as watch:
            await watch.packets_of(ARM, 10)
            await watch.packets_of(GRIP, 10)
        assert pair.peripherals[Role.FOREARM].sensor.commands[0] == COMMAND_START
        assert watch.sequences(ARM) == list(range(len(watch.sequences(ARM))))
        await radio.device.power_off()


def _forget(listener):
    asyncio.get_running_loop().remove_reader(listener)
    listener.close()


@asynccontextmanager
async def started(*arguments, **options):
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "server", "virtual-pair", *arguments,
        env=os.environ | {"PYTHONUNBUFFERED": "1"}, stdin=options.pop("stdin", asyncio.subprocess.DEVNULL),
        stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.STDOUT,
    )  # fmt: skip
    try:
        yield process
    finally:
        if process.returncode is None:
            process.kill()
            await process.communicate()


async def failed(*arguments):
    async with started(*arguments) as process:
        out, _ = await process.communicate()
    text = out.decode()
    assert process.returncode == 2, text
    assert "Traceback" not in text
    return text


@pytest.mark.timeout(240)
async def test_the_command_shows_fit_and_swings_on_the_page_and_obeys_the_keyboard(tmp_path):
    with listen(0) as free:
        port = free.getsockname()[1]
    running = started(
        "--no-browser", "--port", str(port), "--speed", "1", "--record", "--folder", str(tmp_path),
        stdin=asyncio.subprocess.PIPE,
    )  # fmt: skip
    async with running as process:
        assert process.stdout is not None
        assert process.stdin is not None
        while b"Pitchbend is at" not in await process.stdout.readline():
            assert process.returncode is None
        async for socket in connect(f"ws://127.0.0.1:{port}/ws/live", proxy=None):
            page = Client(socket)
            hello = await page.next()
            assert hello["source"] == {"kind": "virtual", "name": "virtual pair", "speed": 1.0}
            assert hello["player"]["name"] == "Virtual golfer"
            async with asyncio.timeout(200):
                seen = await page.until(lambda message: message["type"] == "rep")
            fits = [message for message in seen if message["type"] == "fit"]
            assert fits[-1]["fit"]["complete"], [(fit["move"], fit["state"], fit["reason"]) for fit in fits]
            rep = seen[-1]
            assert rep["index"] == 1
            process.stdin.write(b"help\nbattery 7\n")
            await page.until(lambda m: m["type"] == "sensors" and any(s["battery_pct"] == 7 for s in m["sensors"]))
            break
        process.send_signal(signal.SIGINT)
        out, _ = await process.communicate()
        assert process.returncode == 0, out.decode()
        assert b"Traceback" not in out
        assert b"not understood" not in out
        assert b"the golfer makes that fit move next" in out
        assert b"Club sensor: Its battery is low (7 %)" in out  # as live would say
    (recording,) = tmp_path.rglob("*.mcap")
    assert "Virtual sensors" in read_head(recording).notes["provenance"]
    report = ReadReport()
    moves = [event.move for event in read_events(recording, report=report) if isinstance(event, MoveStart)]
    assert report.is_clean
    with closing(sqlite3.connect(tmp_path / "data" / "pitchbend" / "practices.sqlite")) as store:
        stored = store.execute("SELECT player.name, rep.number FROM rep JOIN practice JOIN player").fetchall()
    assert ("Virtual golfer", 1) in stored  # by itself
    assert b"It is in the store" in out
    assert not list((tmp_path / "data" / "pitchbend" / "to-store").glob("*.json"))
    assert moves[:7] == [Move.STILL, Move.NEUTRAL, Move.ROLL, Move.TWIRL, Move.LOCKED, Move.PALM, Move.ADDRESS]


async def test_errors_are_told_in_a_sentence():
    with listen(0) as taken:
        port = str(taken.getsockname()[1])
        assert f"Port {port} is taken" in await failed("--no-browser", "--port", port)
    assert "nobody answers" in await failed("--only", "club", "--transport", "tcp-client:127.0.0.1:1")
