"""In the guest: the product's radio source against bluetoothd and the kernel; tells what came as one line of JSON.

It judges nothing. The host's tests do, from what is told here.
"""

from __future__ import annotations

import asyncio
import json
import os
import signal
import sys
import time
import traceback
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from sensors.events import BatteryLevel, LinkChange, RawPacket, SensorInfo, SourceEvent
from sensors.ids import Role, SensorId
from sensors.profiles.open_imu import unpack
from sensors.sources.ble import BleSource, scan
from sensors.sources.timing import USUAL

STREAM_S = 20.0
PATIENCE_S = 90.0
PATIENT = replace(USUAL, silent_s=15.0, prepare_s=30.0, connect_s=45.0, release_s=15.0, system_s=30.0)
"""An emulated processor on a busy host stands still for seconds: that is not to be taken for a sensor that has hung."""
MARK = "PITCHBEND-RESULT "
SERVICES = (Path("/usr/libexec/bluetooth/bluetoothd"), Path("/usr/lib/bluetooth/bluetoothd"))
SERVICE_PID = Path("/run/bluetoothd.pid")
result: dict[str, object] = {}


def progress(what: str) -> None:
    print(f"AT {Path('/proc/uptime').read_text().split()[0]} {what}", flush=True)


async def bluetoothctl(*words: str) -> str:
    process = await asyncio.create_subprocess_exec(
        "bluetoothctl", *words, stdin=asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.STDOUT,
    )  # fmt: skip
    try:
        out, _ = await asyncio.wait_for(process.communicate(), 20.0)
    except TimeoutError:
        process.kill()
        return ""
    return out.decode(errors="replace")


async def powered() -> None:
    """bluetoothd switches a new adapter on by itself; racing it with a command of ours upsets it."""
    async with asyncio.timeout(PATIENCE_S):
        while "Powered: yes" not in await bluetoothctl("show"):
            await asyncio.sleep(0.3)


class Trial:
    def __init__(self, source: BleSource) -> None:
        self.events: list[SourceEvent] = []
        self._source = source
        self._news = asyncio.Event()

    async def read(self) -> None:
        async for event in self._source:
            self.events.append(event)
            if isinstance(event, LinkChange):
                progress(f"  {event.sensor[-2:]} {event.state.value} {event.reason.value}")
            self._news.set()

    async def until(self, wanted: Callable[[], bool]) -> bool:
        try:
            async with asyncio.timeout(PATIENCE_S):
                while not wanted():
                    self._news.clear()
                    await self._news.wait()
        except TimeoutError:
            return False
        return True

    def sequences(self, sensor: SensorId, start: int = 0) -> list[int]:
        return [
            unpack(e.payload).sequence for e in self.events[start:] if isinstance(e, RawPacket) and e.sensor == sensor
        ]

    def links(self, sensor: SensorId, start: int = 0) -> list[list[str]]:
        return [
            [e.state.value, e.reason.value]
            for e in self.events[start:]
            if isinstance(e, LinkChange) and e.sensor == sensor
        ]

    def streams(self, sensor: SensorId, start: int = 0) -> bool:
        links = self.links(sensor, start)
        return bool(links) and links[-1][0] == "streaming"

    async def flows(self, sensor: SensorId, n: int = 10) -> bool:
        """So many packets more."""
        goal = len(self.sequences(sensor)) + n
        return await self.until(lambda: len(self.sequences(sensor)) >= goal)


async def tell_pair(process: asyncio.subprocess.Process, line: str) -> None:
    assert process.stdin is not None
    process.stdin.write(f"{line}\n".encode())
    await process.stdin.drain()


async def try_out(pair: asyncio.subprocess.Process) -> tuple[SensorId, SensorId]:
    found = await scan(seconds=5.0)
    result["found"] = {sensor.name: sensor.sensor for sensor in found}
    progress(f"scanned: {result['found']}")
    arm, grip = (SensorId(result["found"][role.value]) for role in (Role.FOREARM, Role.CLUB))
    async with BleSource({arm: Role.FOREARM, grip: Role.CLUB}, timing=PATIENT) as source:
        trial = Trial(source)
        reader = asyncio.create_task(trial.read())
        both = (arm, grip)

        result["streamed"] = await trial.until(lambda: all(trial.streams(sensor) for sensor in both))
        progress("streaming")
        start_s = time.monotonic()
        await asyncio.sleep(STREAM_S)
        result["stream_s"] = time.monotonic() - start_s
        result["stream"] = {s: trial.sequences(s) for s in both}
        result["firmware"] = {e.sensor: e.firmware for e in trial.events if isinstance(e, SensorInfo)}
        progress("streamed")

        await tell_pair(pair, "battery 41 club")
        await trial.until(lambda: any(isinstance(e, BatteryLevel) and e.battery_pct == 41 for e in trial.events))
        result["batteries"] = [[e.sensor, e.battery_pct] for e in trial.events if isinstance(e, BatteryLevel)]
        progress("battery")

        before = len(trial.events)
        await tell_pair(pair, "drop club")
        dropped = ["lost", "dropped"]
        await trial.until(lambda: dropped in trial.links(grip, before) and trial.streams(grip, before))
        result["flows_after_drop"] = [await trial.flows(sensor) for sensor in both]
        result["drop_links"] = {s: trial.links(s, before) for s in both}
        result["sequences_after_drop"] = {s: trial.sequences(s) for s in both}
        progress("dropped and back")

        before = len(trial.events)
        result["power_off"] = await bluetoothctl("power", "off")
        await trial.until(lambda: all(["searching", "adapter_off"] in trial.links(s, before) for s in both))
        progress("adapter off")
        result["power_on"] = await bluetoothctl("power", "on")
        await trial.until(lambda: all(trial.streams(s, before) for s in both))
        result["flows_after_power"] = [await trial.flows(sensor) for sensor in both]
        result["power_links"] = {s: trial.links(s, before) for s in both}
        result["sequences"] = {s: trial.sequences(s) for s in both}
        result["n_dropped_events"] = source.n_dropped
        progress("off, on, and back")
        reader.cancel()
    result["connected_after"] = {s: "Connected: yes" in await bluetoothctl("info", s) for s in both}
    return arm, grip


async def try_with_another_program(arm: SensorId, grip: SensorId) -> None:
    """It has the club's sensor, is killed, and leaves it connected; then the Bluetooth service dies and comes back."""
    other = await asyncio.create_subprocess_exec(sys.executable, "other.py", grip, stdout=asyncio.subprocess.PIPE)
    assert other.stdout is not None
    async with asyncio.timeout(PATIENCE_S):
        result["other_said"] = (await other.stdout.readline()).decode().strip()
    progress("another program listens")
    async with BleSource({arm: Role.FOREARM, grip: Role.CLUB}, timing=PATIENT) as source:
        trial = Trial(source)
        reader = asyncio.create_task(trial.read())
        both = (arm, grip)
        result["held"] = await trial.until(lambda: ["searching", "in_use"] in trial.links(grip))
        result["flows_while_held"] = await trial.flows(arm)
        result["sequences_while_held"] = trial.sequences(grip)
        other.kill()
        await other.wait()
        result["flows_after_kill"] = [await trial.flows(sensor) for sensor in both]
        progress("it was killed")

        before = len(trial.events)
        await stop_service()
        await trial.until(lambda: all(["searching", "service_off"] in trial.links(s, before) for s in both))
        progress("service off")
        await start_service()
        await trial.until(lambda: all(trial.streams(s, before) for s in both))
        result["flows_after_service"] = [await trial.flows(sensor) for sensor in both]
        result["service_links"] = {s: trial.links(s, before) for s in both}
        progress("service back")
        reader.cancel()


async def stop_service() -> None:
    """As when it crashes."""
    pid = int(SERVICE_PID.read_text())
    os.kill(pid, signal.SIGKILL)


async def start_service() -> None:
    """As init.sh did."""
    with Path("/run/bluetoothd.log").open("a") as log:
        daemon = next(path for path in SERVICES if path.exists())
        process = await asyncio.create_subprocess_exec(str(daemon), "-n", stdout=log, stderr=log)
    SERVICE_PID.write_text(str(process.pid))


async def main() -> None:
    with Path("/run/pair.log").open("w") as log:
        pair = await asyncio.create_subprocess_exec(
            sys.executable, "pair.py", stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE, stderr=log
        )
    assert pair.stdout is not None
    async with asyncio.timeout(3 * PATIENCE_S):
        first = await pair.stdout.readline()
    progress(f"pair: {first.decode().strip()}")
    await powered()
    progress("powered")
    arm, grip = await try_out(pair)
    await try_with_another_program(arm, grip)
    pair.kill()
    await pair.wait()


try:
    asyncio.run(main())
except Exception as error:  # noqa: BLE001  # told to the host, which judges
    traceback.print_exc()
    result["error"] = repr(error)
print(MARK + json.dumps(result), flush=True)
