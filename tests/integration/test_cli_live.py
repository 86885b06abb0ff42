"""The command itself, as a person runs it, over bleak's BlueZ backend: scan, live, the recording left behind."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path

import httpx
import pytest
from websockets.asyncio.client import ClientConnection, connect

if sys.platform != "linux":
    pytest.skip("BlueZ is Linux's Bluetooth; elsewhere bleak talks to another system", allow_module_level=True)

from sensors.events import PlayerSet, RawPacket, SensorInfo
from sensors.ids import Role, Side
from sensors.record.reader import ReadReport, read_events
from sensors.sources.ble import BleSource
from server.cli.failures import CommandFailed
from server.cli.moving import choose_by_moving
from server.web import listen
from tests.integration.ble.bluez_process import FakeBluez
from tests.integration.ble.identities import CLUB, FOREARM
from tests.integration.ble.stand import ARM, GRIP, HURRIED
from tests.integration.ble.virtual_sensor import Identity


async def started(tmp_path: Path, *arguments: str) -> asyncio.subprocess.Process:
    places = {"XDG_CONFIG_HOME": "config", "XDG_DATA_HOME": "data", "XDG_DOCUMENTS_DIR": "documents"}
    homes = {name: str(tmp_path / place) for name, place in places.items()}
    return await asyncio.create_subprocess_exec(
        sys.executable, "-m", "server", *arguments,
        env=os.environ | homes, stdin=asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.STDOUT,
    )  # fmt: skip


async def said(process: asyncio.subprocess.Process) -> str:
    out, _ = await process.communicate()
    return out.decode()


async def test_scan_lists_both_sensors(bluez, tmp_path):
    process = await started(tmp_path, "scan")
    text = await said(process)
    assert process.returncode == 0, text
    assert ARM in text
    assert GRIP in text


async def test_record_without_knowing_the_sensors_and_nobody_to_ask_says_what_to_pass(bluez, tmp_path):
    process = await started(tmp_path, "record")
    text = await said(process)
    assert process.returncode == 2, text
    assert "--forearm" in text
    assert "--club" in text


def free_port() -> int:
    with listen(0) as free:
        return free.getsockname()[1]


async def opened(process: asyncio.subprocess.Process, port: int) -> ClientConnection:
    """The page's connection to a service that is just coming up."""
    async with asyncio.timeout(30):
        while True:
            try:
                return await connect(f"ws://127.0.0.1:{port}/ws/live", proxy=None)
            except OSError:
                assert process.returncode is None
                await asyncio.sleep(0.05)


async def until(page: ClientConnection, wanted: Callable[[dict], bool]) -> dict:
    async with asyncio.timeout(30):
        while not wanted(message := json.loads(await page.recv())):
            pass
    return message


def mover_is(sensor: str) -> Callable[[dict], bool]:
    def is_so(message: dict) -> bool:
        return message["type"] == "choosing" and [
            s["sensor"] for s in message["choosing"]["sensors"] if s["moving"]
        ] == [sensor]

    return is_so


def both_stream(message: dict) -> bool:
    return message["type"] == "sensors" and [
        (s["sensor"], s["role"]) for s in message["sensors"] if s["state"] == "streaming" and s["rate_hz"] > 100
    ] == [(GRIP, "forearm"), (ARM, "club")]


async def test_a_first_practice_is_chosen_on_the_page_and_the_next_begins_without_a_question(bluez, tmp_path, capsys):
    for index in (0, 1):
        await bluez.tell("rest", index=index, on=True)
    port = free_port()
    began_s = time.monotonic()
    process = await started(tmp_path, "live", "--no-browser", "--port", str(port))
    page = await opened(process, port)
    await until(page, lambda m: m["type"] == "choosing" and len(m["choosing"]["sensors"]) == 2)
    for index, sensor, role in ((1, GRIP, "forearm"), (0, ARM, "club")):
        await bluez.tell("rest", index=index, on=False)
        await until(page, mover_is(sensor))
        await page.send(json.dumps({"type": "blink", "sensor": sensor}))
        await page.send(json.dumps({"type": "place", "sensor": sensor, "role": role}))
        await until(
            page, lambda m, r=role: m["type"] == "choosing" and r in {s["role"] for s in m["choosing"]["sensors"]}
        )
        await bluez.tell("rest", index=index, on=True)
    await page.send(json.dumps({"type": "choose", "open": False}))
    await until(page, both_stream)
    first_s = time.monotonic() - began_s
    assert [(await bluez.state(index)).commands for index in (0, 1)] == [["01", "02"], ["01", "02"]]
    await page.close()
    process.send_signal(signal.SIGINT)
    text = await said(process)
    assert process.returncode == 0, text
    assert "Choose the sensors on the page" in text
    remembered = json.loads(next((tmp_path / "config").rglob("*.json")).read_text())
    assert (remembered["forearm"], remembered["club"]) == (GRIP, ARM)

    port = free_port()
    began_s = time.monotonic()
    process = await started(tmp_path, "live", "--no-browser", "--port", str(port))
    page = await opened(process, port)
    hello = json.loads(await page.recv())
    assert hello["choosing"] is None or not hello["choosing"]["open"]
    await until(page, both_stream)
    next_s = time.monotonic() - began_s
    await page.close()
    process.send_signal(signal.SIGINT)
    text = await said(process)
    assert process.returncode == 0, text
    assert "Choose" not in text
    assert len(list((tmp_path / "documents" / "Pitchbend").rglob("*.mcap"))) == 2
    with capsys.disabled():
        print(f"\nfrom the command to both streaming: {first_s:.1f} s chosen on the page, {next_s:.1f} s remembered")


async def test_trouble_is_told_in_the_terminal_as_well(bluez, tmp_path):
    await bluez.tell("power", on=False)
    port = free_port()
    process = await started(
        tmp_path, "live", "--forearm", ARM, "--club", GRIP, "--no-browser", "--no-record", "--port", str(port)
    )
    page = await opened(process, port)
    told = await until(
        page, lambda m: m["type"] == "sensors" and any(s["reason"] == "adapter_off" for s in m["sensors"])
    )
    assert {s["role"] for s in told["sensors"]} == {"forearm", "club"}  # listed, though never connected
    assert "Bluetooth is switched off" in told["sensors"][0]["advice"]
    await bluez.tell("power", on=True)
    await until(page, lambda m: m["type"] == "sensors" and all(s["rate_hz"] > 100 for s in m["sensors"]))
    await page.close()
    process.send_signal(signal.SIGINT)
    text = " ".join((await said(process)).split())
    assert text.count("Bluetooth is switched off on this computer. Switch it on") == 1  # not for each sensor
    assert "Forearm: sending again." in text


async def test_a_sensor_worn_elsewhere_is_recorded_beside_the_pair(bus, tmp_path):
    third = Identity(address="C0:00:00:00:00:0C", name="Reed C")
    async with FakeBluez((FOREARM, CLUB, third)):
        process = await started(
            tmp_path, "record", "--forearm", ARM, "--club", GRIP, "--also", f"pelvis={third.address}", "--seconds", "3"
        )
        text = await said(process)
    assert process.returncode == 0, text
    (recording,) = (tmp_path / "documents" / "Pitchbend").rglob("*.mcap")
    infos = {event.sensor: event.role for event in read_events(recording) if isinstance(event, SensorInfo)}
    assert infos == {ARM: "forearm", GRIP: "club", third.address: "pelvis"}
    remembered = json.loads(next((tmp_path / "config").rglob("*.json")).read_text())
    assert remembered["pelvis"] == third.address


async def test_the_terminal_finds_out_by_moving(bus):
    third = Identity(address="C0:00:00:00:00:0C", name="Reed C")
    said_lines: list[str] = []
    async with FakeBluez((FOREARM, CLUB, third)) as bluez:
        for index in range(3):
            await bluez.tell("rest", index=index, on=True)
        chosen = asyncio.create_task(
            choose_by_moving(BleSource({}, gather=True, timing=HURRIED), {}, said_lines.append)
        )
        for index, place in ((1, "lead forearm"), (2, "club")):
            async with asyncio.timeout(20):
                while not (said_lines and place in said_lines[-1]) and not any(
                    "Heard" in line for line in said_lines[-1:]
                ):
                    await asyncio.sleep(0.02)
            await bluez.tell("rest", index=index, on=False)
            async with asyncio.timeout(20):
                while sum(line.startswith("That is") for line in said_lines) < index:
                    await asyncio.sleep(0.02)
            await bluez.tell("rest", index=index, on=True)
        assert await chosen == {Role.FOREARM: GRIP, Role.CLUB: third.address}
        assert (await bluez.state(1)).commands == ["01", "02", "00"]
        assert not (await bluez.state(0)).connected
    assert said_lines[0].startswith("Take the sensor for the lead forearm")
    assert f"That is Reed B ({GRIP}); it blinks, if it can." in said_lines


async def test_the_terminal_gives_up_when_nobody_moves_any(bluez):
    for index in (0, 1):
        await bluez.tell("rest", index=index, on=True)
    said_lines: list[str] = []
    source = BleSource({ARM: Role.FOREARM}, gather=True, timing=HURRIED)
    with pytest.raises(CommandFailed, match="No sensor was moved for the club"):
        await choose_by_moving(source, {Role.FOREARM: ARM}, said_lines.append, patience_s=1.0)


async def test_the_terminal_says_that_the_radio_is_off(bus):
    said_lines: list[str] = []
    async with FakeBluez(powered=False):
        source = BleSource({}, gather=True, timing=HURRIED)
        with pytest.raises(CommandFailed, match="No sensor was moved"):
            await choose_by_moving(source, {}, said_lines.append, patience_s=1.0)
    assert sum("Bluetooth is switched off on this computer." in line for line in said_lines) == 1


async def test_live_streams_records_and_ends_with_ctrl_c(bluez, tmp_path):
    port = free_port()
    process = await started(
        tmp_path, "live", "--forearm", ARM, "--club", GRIP, "--lead-side", "right", "--player", "Ivo Tarn",
        "--no-browser", "--port", str(port),
    )  # fmt: skip
    async with httpx.AsyncClient() as client, asyncio.timeout(30):
        while True:
            await asyncio.sleep(0.1)
            try:
                health = (await client.get(f"http://127.0.0.1:{port}/api/health")).json()["bays"][0]
            except httpx.TransportError:
                assert process.returncode is None
                continue
            if all(s["n_samples"] > 100 for s in health["sensors"]) and len(health["sensors"]) == 2:
                break
    process.send_signal(signal.SIGINT)
    text = await said(process)
    assert process.returncode == 0, text
    assert "Traceback" not in text
    (recording,) = (tmp_path / "documents" / "Pitchbend").rglob("*.mcap")
    report = ReadReport()
    events = list(read_events(recording, report=report))
    assert report.is_clean
    assert isinstance(events[0], PlayerSet)
    assert (events[0].name, events[0].lead_side) == ("Ivo Tarn", Side.RIGHT)
    assert {event.sensor for event in events if isinstance(event, RawPacket)} == {ARM, GRIP}
    remembered = json.loads(next((tmp_path / "config").rglob("*.json")).read_text())
    assert remembered["forearm"] == ARM


async def test_a_lesson_has_a_page_and_a_recording_for_each_student_over_one_adapter(bus, tmp_path):
    four = [Identity(address=f"C0:00:00:00:00:2{nth}", name=f"Reed {nth}") for nth in range(4)]
    anna, bodil = [[sensor.address for sensor in four[:2]], [sensor.address for sensor in four[2:]]]
    async with FakeBluez(four) as bluez:
        port = free_port()
        process = await started(
            tmp_path, "live", "--student", f"Anna={','.join(anna)}", "--student", f"Bodil={','.join(bodil)},right",
            "--no-browser", "--port", str(port),
        )  # fmt: skip
        async with httpx.AsyncClient(trust_env=False) as client, asyncio.timeout(90):
            while True:
                await asyncio.sleep(0.1)
                try:
                    bays = (await client.get(f"http://127.0.0.1:{port}/api/health")).json()["bays"]
                except httpx.TransportError:
                    assert process.returncode is None
                    continue
                samples = [[s["n_samples"] for s in bay["sensors"]] for bay in bays]
                if all(len(of_bay) == 2 and min(of_bay) > 100 for of_bay in samples):
                    break
        assert (await bluez.tell("book"))["n_discoveries_refused"] == 0
        process.send_signal(signal.SIGINT)
        text = await said(process)
    assert process.returncode == 0, text
    assert [bay["id"] for bay in bays] == ["anna", "bodil"]
    for words in ("Anna: http://", "?bay=bodil", "the coach: http://"):
        assert words in text
    recordings = sorted((tmp_path / "documents" / "Pitchbend").rglob("*.mcap"))
    for path, name, side, sensors in zip(recordings, ("Anna", "Bodil"), Side, (anna, bodil), strict=True):
        player, *events = read_events(path)
        assert isinstance(player, PlayerSet)
        assert (player.name, player.lead_side) == (name, side)
        assert {event.sensor for event in events if isinstance(event, RawPacket)} == set(sensors)
