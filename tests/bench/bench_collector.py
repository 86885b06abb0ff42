"""What the radio side costs and gives: samples a second, loss, processor, time to come back after a drop, size of a recording.

    python -m tests.bench.bench_collector [--seconds N] [--drops N]

Real time. 1, 2 and 6 sensors of 200 Hz, ten samples a packet, and the six as three pairs in sources of their own, through
bleak's own BlueZ backend, a private D-Bus and a BlueZ-shaped service in another process; reconnection there and over a
virtual controller. The processor time is that of this process alone: bleak, source, recorder, decoding. No radio is in it.
Linux only. A report, never a pass or fail.
"""

from __future__ import annotations

import argparse
import asyncio
import logging
import os
import tempfile
import time
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import AsyncExitStack, asynccontextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import numpy as np

from sensors.events import LinkChange, LinkState, RawPacket
from sensors.ids import PAIR, WORN, Role, SensorId
from sensors.ingest import Ingest
from sensors.record.summary import Summariser
from sensors.record.writer import Recorder
from sensors.sources.ble import BleSource, SharedRadio
from sensors.sources.ble_bumble import BumbleRadio, backends_on
from sensors.virtual.air.link import IntervalAir
from sensors.virtual.air.peripheral import BumblePeripheral
from tests.integration.ble.bluez_process import FakeBluez
from tests.integration.ble.packet_supply import synthetic
from tests.integration.ble.private_bus import private_bus
from tests.integration.ble.virtual_sensor import Identity

N_SENSORS = (1, 2, 6)
INTERVAL_S = 0.030
"""Of the virtual controller: within the 15 to 30 ms that the profile asks for."""
STEADY_S = 5.5
"""A link must have streamed for five seconds, or the next back-off is a longer one."""

Drop = Callable[[int], Awaitable[object]]


def identities(n: int) -> list[Identity]:
    return [Identity(address=f"C0:00:00:00:00:{nth:02X}", name=f"Reed {nth}") for nth in range(n)]


def worn(sensors: list[Identity]) -> dict[SensorId, Role]:
    """One to a place; a sixth streams as it does while a person is choosing."""
    return {SensorId(sensor.address): role for sensor, role in zip(sensors, WORN, strict=False)}


@dataclass
class Collector:
    """Reads a source as `pitchbend record` does."""

    source: BleSource
    recorder: Recorder
    ingest: Ingest = field(default_factory=Ingest)
    summariser: Summariser = field(default_factory=Summariser)
    packets_ns: dict[SensorId, int] = field(default_factory=dict)
    """When the newest packet came."""
    counting: bool = False
    streaming: set[SensorId] = field(default_factory=set)
    news: asyncio.Event = field(default_factory=asyncio.Event)

    async def read(self) -> None:
        async for event in self.source:
            self.recorder.write(event)
            self.ingest.push(event)
            match event:
                case RawPacket():
                    self.packets_ns[event.sensor] = event.arrival_ns
                case LinkChange():
                    self.streaming.discard(event.sensor)
                    if event.state is LinkState.STREAMING:
                        self.streaming.add(event.sensor)
                case _:
                    pass
            self.news.set()

    async def until(self, wanted: Callable[[], bool]) -> None:
        async with asyncio.timeout(30):
            while not wanted():
                self.news.clear()
                await self.news.wait()


@asynccontextmanager
async def collecting(sensors: list[Identity], path: Path, *, n_away: int = 0, **backends) -> AsyncIterator[Collector]:
    with Recorder(path) as recorder:
        async with BleSource(worn(sensors), gather=len(sensors) > len(WORN), **backends) as source:
            collector = Collector(source, recorder)
            reader = asyncio.create_task(collector.read())
            await collector.until(lambda: len(collector.streaming) == len(sensors) - n_away)
            yield collector
            reader.cancel()
            await asyncio.wait({reader})


async def throughput(n: int, seconds: float, folder: Path) -> str:
    sensors = identities(n)
    path = folder / f"{n}.mcap"
    with private_bus(folder):
        async with FakeBluez(sensors), collecting(sensors, path) as collector:
            began_ns, cpu_s = time.monotonic_ns(), time.process_time()
            n_before, size = [entry.n_samples for entry in collector.ingest.health(began_ns)], path.stat().st_size
            await asyncio.sleep(seconds)
            wall_s, cpu_s = (time.monotonic_ns() - began_ns) * 1e-9, time.process_time() - cpu_s
            size = path.stat().st_size - size
            health = collector.ingest.health(time.monotonic_ns())
    rates_hz = [(entry.n_samples - before) / wall_s for entry, before in zip(health, n_before, strict=True)]
    n_doubled = sum(entry.n_duplicates for entry in summary_of(path))
    return (
        f"| {n} | {min(rates_hz):.1f} to {max(rates_hz):.1f} | {sum(entry.n_lost for entry in health)} | {n_doubled} "
        f"| {100 * cpu_s / wall_s:.1f} % | {size / wall_s * 60 / 1000:.0f} kB |"
    )


@asynccontextmanager
async def collecting_pair(pair: list[Identity], path: Path, shared: SharedRadio) -> AsyncIterator[Collector]:
    roles = {SensorId(sensor.address): role for sensor, role in zip(pair, PAIR, strict=True)}
    with Recorder(path) as recorder:
        async with BleSource(roles, shared=shared, bay=path.stem) as source:
            collector = Collector(source, recorder)
            reader = asyncio.create_task(collector.read())
            yield collector
            reader.cancel()
            await asyncio.wait({reader})


async def throughput_of_pairs(n_pairs: int, seconds: float, folder: Path) -> str:
    """Each pair in a source of its own, over one adapter."""
    sensors = identities(2 * n_pairs)
    paths = [folder / f"pair{nth}.mcap" for nth in range(n_pairs)]
    with private_bus(folder):
        async with FakeBluez(sensors), AsyncExitStack() as exits:
            shared = SharedRadio()
            collectors = [
                await exits.enter_async_context(collecting_pair(sensors[2 * nth : 2 * nth + 2], path, shared))
                for nth, path in enumerate(paths)
            ]
            for collector in collectors:
                await collector.until(lambda one=collector: len(one.streaming) == 2)
            began_ns, cpu_s = time.monotonic_ns(), time.process_time()
            n_before = [entry.n_samples for one in collectors for entry in one.ingest.health(began_ns)]
            size = sum(path.stat().st_size for path in paths)
            await asyncio.sleep(seconds)
            wall_s, cpu_s = (time.monotonic_ns() - began_ns) * 1e-9, time.process_time() - cpu_s
            size = sum(path.stat().st_size for path in paths) - size
            health = [entry for one in collectors for entry in one.ingest.health(time.monotonic_ns())]
    rates_hz = [(entry.n_samples - before) / wall_s for entry, before in zip(health, n_before, strict=True)]
    n_doubled = sum(entry.n_duplicates for path in paths for entry in summary_of(path))
    return (
        f"| {n_pairs} pairs | {min(rates_hz):.1f} to {max(rates_hz):.1f} | {sum(entry.n_lost for entry in health)} "
        f"| {n_doubled} | {100 * cpu_s / wall_s:.1f} % | {size / wall_s * 60 / 1000:.0f} kB |"
    )


def summary_of(path: Path):
    from sensors.record.reader import read_events

    summariser = Summariser()
    for event in read_events(path):
        summariser.push(event)
    return summariser.summary().sensors


async def reconnections(collector: Collector, sensors: list[SensorId], drop: Drop, n_drops: int) -> str:
    """Seconds from the drop to the first packet after it, both sensors in turn."""
    waits_s = []
    for nth in range(n_drops):
        await asyncio.sleep(STEADY_S / len(sensors))
        index = nth % len(sensors)
        sensor = sensors[index]
        dropped_ns = time.monotonic_ns()
        await drop(index)
        await collector.until(lambda sensor=sensor: sensor not in collector.streaming)
        lost_ns = time.monotonic_ns()
        await collector.until(lambda sensor=sensor, after=lost_ns: collector.packets_ns[sensor] > after)
        waits_s.append((collector.packets_ns[sensor] - dropped_ns) * 1e-9)
    p50_s, worst_s = np.percentile(waits_s, [50, 100])
    return f"{n_drops} | {p50_s:.2f} s | {worst_s:.2f} s |"


async def reconnections_on_dbus(n_drops: int, folder: Path, *, n_away: int = 0) -> str:
    """While `n_away` further sensors are looked for in vain."""
    sensors = identities(2 + n_away)
    with private_bus(folder):
        async with FakeBluez(sensors) as bluez:
            for index in range(2, len(sensors)):
                await bluez.tell("advertise", index=index, on=False)
            async with collecting(sensors, folder / "dbus.mcap", n_away=n_away) as collector:
                return await reconnections(
                    collector, list(worn(sensors))[:2], lambda index: bluez.tell("drop", index=index), n_drops
                )


async def reconnections_on_controller(n_drops: int, folder: Path) -> str:
    logging.getLogger("bumble").setLevel(logging.ERROR)
    sensors = identities(2)
    air = IntervalAir(INTERVAL_S)
    peripherals = [BumblePeripheral(identity, synthetic(nth), air) for nth, identity in enumerate(sensors)]
    for peripheral in peripherals:
        await peripheral.start()
    radio = await BumbleRadio.open(air)
    scanner_backend, client_backend = backends_on(radio)
    backends = {"scanner_backend": scanner_backend, "client_backend": client_backend}
    async with collecting(sensors, folder / "controller.mcap", **backends) as collector:
        told = await reconnections(collector, list(worn(sensors)), lambda index: peripherals[index].drop(), n_drops)
    for peripheral in peripherals:
        await peripheral.stop()
    await radio.device.power_off()
    return told


async def measure(seconds: float, n_drops: int) -> None:
    print(
        f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}; {seconds:.0f} s each; client: source, recorder, decoding"
    )
    print("| sensors | samples/s, each | lost | doubled | CPU of one core | recording a minute |")
    print("| --- | --- | --- | --- | --- | --- |")
    for n in N_SENSORS:
        with tempfile.TemporaryDirectory() as folder:
            print(await throughput(n, seconds, Path(folder)), flush=True)
    with tempfile.TemporaryDirectory() as folder:
        print(await throughput_of_pairs(3, seconds, Path(folder)), flush=True)
    print("\n| from the drop to the first sample | drops | p50 | longest |\n| --- | --- | --- | --- |")
    for name, run in (
        ("D-Bus", reconnections_on_dbus),
        ("D-Bus, while a third sensor is away", partial(reconnections_on_dbus, n_away=1)),
        (f"virtual controller, {1e3 * INTERVAL_S:.0f} ms interval", reconnections_on_controller),
    ):
        with tempfile.TemporaryDirectory() as folder:
            print(f"| {name} | {await run(n_drops, Path(folder))}", flush=True)


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--seconds", type=float, default=30.0, help="for each number of sensors")
    words.add_argument("--drops", type=int, default=12)
    chosen = words.parse_args()
    asyncio.run(measure(chosen.seconds, chosen.drops))


if __name__ == "__main__":
    main()
