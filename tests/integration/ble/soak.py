"""Minutes of two sensors at 200 Hz with everything going wrong that a seed can think of, in virtual time.

    outcome = run_in_virtual_time(lambda: soak(seed, path))

The product's own way in, whole: `BleSource` on bleak, the recorder, decoding and placing on the session clock. What
happened and what came of it are two separate books, for `soak_check` to compare.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

from sensors.events import SourceEvent
from sensors.health import SensorHealth
from sensors.ids import SensorId
from sensors.ingest import Ingest
from sensors.readings import Gap, ImuBlock
from sensors.record.writer import Recorder
from sensors.sources.ble import BleSource
from tests.integration.ble.faulty_radio import SUPERVISION_S, FaultyAir, FaultyPeripheral, FaultyRadio, host_ns
from tests.integration.ble.identities import CLUB, FOREARM
from tests.integration.ble.packet_faults import Book, PacketFaults
from tests.integration.ble.stand import BOTH
from tests.integration.ble.traced_board import Quartz, TracedBoard

CALM_S = 15.0
"""Without new faults at the end, so that everything can come back, and must."""
MAX_EVENTS = 64 + 72
"""Room for the packets of some seconds: a reader stalled for longer loses some."""
INTERVALS_S = (0.0075, 0.015, 0.030, 0.04875)

SENSOR_FAULTS = (
    *("drop",) * 4,
    *("time out",) * 4,
    *("fade",) * 6,
    *("short silence",) * 3,
    *("long silence",) * 2,
    *("reboot",) * 2,
    *("boot loop",) * 1,
    *("out of reach",) * 1,
    *("refused",) * 2,
    *("battery",) * 8,
)
BEGINNINGS = ("reboot", "boot loop")
"""Not in the first third: the counters are to go round before they begin anew."""
HOST_FAULTS = (*("adapter off",) * 2, *("reader stalled",) * 6)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What happened (boards, books) and what the product made of it (the rest)."""

    interval_s: float
    boards: dict[SensorId, TracedBoard]
    books: dict[SensorId, Book]
    stalls_ns: list[tuple[int, int]]
    """When nobody read: from, to."""
    events: list[SourceEvent]
    items: list[ImuBlock | Gap]
    health: tuple[SensorHealth, ...]
    n_queue_dropped: int


async def soak(seed: int, recording: Path, *, seconds: float = 600.0) -> Outcome:
    """Run one soak; the recording is written meanwhile."""
    rng = Random(seed)
    loop = asyncio.get_running_loop()
    interval_s = rng.choice(INTERVALS_S)
    air = FaultyAir(interval_s)
    peripherals = []
    for index, identity in enumerate((FOREARM, CLUB)):
        book = Book()
        board = _board(index, rng)
        peripheral = FaultyPeripheral(identity, board, air, PacketFaults(Random(rng.random()), book), book)
        await peripheral.start()
        peripherals.append(peripheral)
    radio = await FaultyRadio.open(air)
    radio.books = {peripheral.address: peripheral.book for peripheral in peripherals}
    scanner_backend, client_backend = radio.backends()

    events: list[SourceEvent] = []
    items: list[ImuBlock | Gap] = []
    stalls_ns: list[tuple[int, int]] = []
    reading = asyncio.Event()
    reading.set()
    ingest = Ingest()
    source = BleSource(
        BOTH,
        clock=lambda: host_ns(loop),
        max_events=MAX_EVENTS,
        scanner_backend=scanner_backend,
        client_backend=client_backend,
    )

    async def read() -> None:
        async for event in source:
            await reading.wait()
            events.append(event)
            recorder.write(event)
            items.extend(ingest.push(event))

    async def stall(stalled_s: float) -> None:
        reading.clear()
        from_ns = host_ns(loop)
        await asyncio.sleep(stalled_s)
        reading.set()
        stalls_ns.append((from_ns, host_ns(loop)))

    with Recorder(recording) as recorder:
        async with source:
            reader = asyncio.create_task(read())
            async with asyncio.timeout(2 * seconds), asyncio.TaskGroup() as troubles:
                for peripheral in peripherals:
                    troubles.create_task(
                        _trouble(seconds, Random(rng.random()), SENSOR_FAULTS, _SensorFaults(peripheral, radio))
                    )
                troubles.create_task(_trouble(seconds, Random(rng.random()), HOST_FAULTS, _HostFaults(radio, stall)))
            await asyncio.sleep(CALM_S)
            for peripheral in peripherals:
                peripheral.sensor.silent = True
            await asyncio.sleep(5 * interval_s)  # what is under way arrives, and is read
            reader.cancel()
            await asyncio.wait({reader})
            if not reader.cancelled():
                reader.result()
            health = ingest.health(host_ns(loop))
        n_queue_dropped = source.n_dropped
    for peripheral in peripherals:
        await peripheral.stop()
    await radio.device.power_off()
    return Outcome(
        interval_s=interval_s,
        boards={SensorId(peripheral.address): peripheral.board for peripheral in peripherals},
        books={SensorId(peripheral.address): peripheral.book for peripheral in peripherals},
        stalls_ns=stalls_ns,
        events=events,
        items=items,
        health=health,
        n_queue_dropped=n_queue_dropped,
    )


def _board(index: int, rng: Random) -> TracedBoard:
    """Clock and counter both go round in the first minutes, before a reboot sets them to zero."""
    sequence_wraps_s, clock_wraps_s = rng.sample((20.0, 60.0, 100.0, 140.0), 2)
    clock_ppm, rate_off = rng.uniform(-100.0, 100.0), rng.uniform(-0.02, 0.02)
    samples_per_packet = rng.choice((8, 10, 10, 12, 19))
    quartz = Quartz(
        clock_ppm=clock_ppm,
        rate_hz=200.0 * (1.0 + rate_off),
        first_sequence=2**16 - round(sequence_wraps_s * 200.0 / samples_per_packet),
        first_clock_us=2**32 - round(clock_wraps_s * 1e6),
    )
    return TracedBoard(index, quartz, samples_per_packet=samples_per_packet)


async def _trouble(seconds: float, rng: Random, faults: tuple[str, ...], stand: Any) -> None:
    """Deal each fault once, in any order, over the time there is; some come on the heels of the one before."""
    loop = asyncio.get_running_loop()
    began_s = loop.time()
    for nth, fault in enumerate(_dealt(faults, rng)):
        due_s = began_s + (nth + rng.random()) * seconds / len(faults)
        await asyncio.sleep(max(0.0, due_s - loop.time()))  # at once when the one before took longer
        await stand.make(fault, rng)
    await asyncio.sleep(max(0.0, began_s + seconds - loop.time()))


def _dealt(faults: tuple[str, ...], rng: Random) -> list[str]:
    dealt = [fault for fault in rng.sample(faults, len(faults)) if fault not in BEGINNINGS]
    first = len(faults) // 3
    for fault in faults:
        if fault in BEGINNINGS:
            dealt.insert(rng.randint(first, len(dealt)), fault)
    return dealt


class _SensorFaults:
    def __init__(self, peripheral: FaultyPeripheral, radio: FaultyRadio) -> None:
        self._peripheral = peripheral
        self._radio = radio

    async def make(self, fault: str, rng: Random) -> None:
        peripheral = self._peripheral
        peripheral.book.faults[fault] += 1
        match fault:
            case "drop":
                await peripheral.drop()
            case "time out":
                await peripheral.time_out(rng.uniform(0.1, 6.0))
            case "fade":
                await peripheral.fade(rng.uniform(0.05, 0.95 * SUPERVISION_S))
            case "short silence":
                await peripheral.silence(rng.uniform(0.1, 1.8))
            case "long silence":
                await peripheral.silence(rng.uniform(2.2, 6.0))
            case "reboot":
                await peripheral.reboot(rng.uniform(0.25, 3.0))
            case "boot loop":
                # A weak battery: the radio starts, the voltage falls, and so on.
                for _ in range(4):
                    await peripheral.reboot(rng.uniform(0.25, 0.4))
                    await self._until_sent(rng.randint(1, 10))
            case "out of reach":
                await peripheral.time_out(rng.uniform(11.0, 15.0))
            case "refused":
                self._radio.refusals[peripheral.address] += rng.randint(1, 3)
                await peripheral.drop()
            case "battery":
                await peripheral.set_battery(rng.randint(0, 100))

    async def _until_sent(self, n: int) -> None:
        goal = self._peripheral.sensor.n_sent + n
        for _ in range(600):  # with the adapter off it may take a while
            if self._peripheral.sensor.n_sent >= goal:
                return
            await asyncio.sleep(0.02)


class _HostFaults:
    def __init__(self, radio: FaultyRadio, stall: Any) -> None:
        self._radio = radio
        self._stall = stall

    async def make(self, fault: str, rng: Random) -> None:
        match fault:
            case "adapter off":
                await self._radio.power(False)
                await asyncio.sleep(rng.uniform(0.5, 12.0))
                await self._radio.power(True)
            case "reader stalled":
                await self._stall(rng.uniform(0.5, 6.0))
