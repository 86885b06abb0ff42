"""What a board on a bus costs: delay added to a frame, and processor time on both sides, by the number of practices.

    python -m tests.bench.bench_board [--seconds N]

A real nats-server; the practices in one process, the board in another, and a client of the board's socket for each practice in a
third, all on this machine and one monotonic clock. Each practice publishes 50 frames a second and an event now and then. Delay
is from the moment a practice publishes a frame to the moment the client holds it; beside it the same for a client of the
practice's own service. A report, never a pass or fail.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import uvicorn
from websockets.asyncio.client import connect
from websockets.exceptions import ConnectionClosed

from server.app import make_app
from server.bays.bay import Bays
from server.bays.local_bay import LocalBay
from server.bays.on_bus import Telling, Watching
from server.bus.address import bus_address
from server.engine import Engine
from server.web import config_of
from tests.e2e import samples
from tests.integration.bus.nats_server import NatsServer
from tests.live_service import LIVE, HandSource, ToldPipeline, never
from tests.serving import serving

RATE_HZ = 50.0
SETTLE_S = 3.0
ACK_EVERY_S = 0.25
"""As the page does."""


async def practices(url: str, n: int, seconds: float) -> None:
    """The process at the mats."""
    bays = []
    for number in range(n):
        source = HandSource()
        engine = Engine(lambda source=source: source, view=LIVE, make_pipeline=lambda: ToldPipeline({}), sleep=never)
        bays.append(LocalBay(engine, id=f"mat-{number}", name=f"Mat {number}"))
    job = Telling(bus_address(url), bays, say) if url else None
    app = make_app(Bays(bays), on_bug=print, on_bus=job)
    async with serving(uvicorn.Server(config_of(app))) as port:
        print(port, flush=True)
        await asyncio.to_thread(sys.stdin.readline)  # all have joined
        cpu_s, begun_s = time.process_time(), time.monotonic()
        for seq in range(int(seconds * RATE_HZ)):
            for bay in bays:
                # The frame's own time carries when it was published: strict messages have no other room.
                bay.engine.hub.publish(samples.frame(seq=seq, t_s=time.monotonic()))
                if seq % 100 == 50:
                    bay.engine.hub.publish(samples.rep(seq))
            await asyncio.sleep(max(0.0, begun_s + (seq + 1) / RATE_HZ - time.monotonic()))
        took_s = time.monotonic() - begun_s
        print(json.dumps({"cpu": (time.process_time() - cpu_s) / took_s}), flush=True)
        await asyncio.to_thread(sys.stdin.readline)


async def board(url: str) -> None:
    """The process of the coach."""
    bays = Bays([])
    app = make_app(bays, on_bug=print, on_bus=Watching(bus_address(url), bays, say))
    async with serving(uvicorn.Server(config_of(app))) as port:
        print(port, flush=True)
        await asyncio.to_thread(sys.stdin.readline)
        cpu_s, begun_s = time.process_time(), time.monotonic()
        await asyncio.to_thread(sys.stdin.readline)
        print(json.dumps({"cpu": (time.process_time() - cpu_s) / (time.monotonic() - begun_s)}), flush=True)
        await asyncio.to_thread(sys.stdin.readline)


def say(line: str) -> None:
    print(line, file=sys.stderr)


class Process:
    """One of the two above, spoken to line by line."""

    def __init__(self, *words: str) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.bench.bench_board", *words],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=os.environ | {"PYTHONUNBUFFERED": "1"},
        )  # fmt: skip

    async def line(self) -> str:
        return await asyncio.to_thread(self._process.stdout.readline)

    def go_on(self) -> None:
        self._process.stdin.write("\n")
        self._process.stdin.flush()

    def end(self) -> None:
        self._process.stdin.close()
        self._process.wait(20)


async def client(port: int, bay: str, delays_s: list[float], reps: list[int], greeted: asyncio.Event) -> None:
    while not greeted.is_set():  # until the board has heard of it
        await asyncio.sleep(0.1)
        with contextlib.suppress(ConnectionClosed):
            await listen(port, bay, delays_s, reps, greeted)


async def listen(port: int, bay: str, delays_s: list[float], reps: list[int], greeted: asyncio.Event) -> None:
    async with connect(f"ws://127.0.0.1:{port}/ws/live?bay={bay}&as=coach", compression=None, proxy=None) as socket:
        acked_s = 0.0
        async for text in socket:
            now_s = time.monotonic()
            message = json.loads(text)
            if message["type"] == "hello":
                greeted.set()
            elif message["type"] == "frame":
                delays_s.append(now_s - message["t_s"])
                if now_s - acked_s > ACK_EVERY_S:
                    acked_s = now_s
                    await socket.send(json.dumps({"type": "ack", "seq": message["seq"]}))
            elif message["type"] == "rep":
                reps.append(message["index"])


async def run(n: int, *, follow: int, seconds: float, nats: NatsServer | None) -> None:
    url = nats.url if nats is not None else ""
    mats = Process("--practices", str(n), "--url", url, "--seconds", str(seconds))
    mats_port = int(await mats.line())
    far = Process("--board", "--url", url) if url else None
    port = int(await far.line()) if far is not None else mats_port
    await asyncio.sleep(SETTLE_S)
    delays_s: list[float] = []
    heard: list[list[int]] = [[] for _ in range(follow)]
    greeted = [asyncio.Event() for _ in range(follow)]
    async with asyncio.TaskGroup() as tasks:
        clients = [
            tasks.create_task(client(port, f"mat-{number}", delays_s, heard[number], greeted[number]))
            for number in range(follow)
        ]
        for one in greeted:
            await one.wait()
        mats.go_on()
        if far is not None:
            far.go_on()
        mats_cpu = json.loads(await mats.line())["cpu"]
        far_cpu = 0.0
        if far is not None:
            far.go_on()
            far_cpu = json.loads(await far.line())["cpu"]
        await asyncio.sleep(0.5)
        for one in clients:
            one.cancel()
    mats.end()
    if far is not None:
        far.end()
    p50, p99 = np.percentile(np.array(delays_s) * 1000, [50, 99]) if delays_s else (0.0, 0.0)
    wanted = int(seconds * RATE_HZ) * follow
    reps = int(seconds * RATE_HZ) // 100 * follow
    print(
        f"{'bus' if url else 'own page':9} practices {n:2}, open {follow:2}: frames {len(delays_s)} of {wanted}, reps "
        f"{sum(map(len, heard))} of {reps}, delay p50 {p50:5.1f} ms, p99 {p99:5.1f} ms, processor: practices "
        f"{100 * mats_cpu:5.1f} %, board {100 * far_cpu:5.1f} %",
        flush=True,
    )


async def main(seconds: float) -> None:
    with tempfile.TemporaryDirectory() as folder:
        async with NatsServer(Path(folder)) as nats:
            await run(1, follow=1, seconds=seconds, nats=None)
            await run(1, follow=1, seconds=seconds, nats=nats)
            await run(8, follow=8, seconds=seconds, nats=None)
            await run(8, follow=8, seconds=seconds, nats=nats)
            await run(8, follow=1, seconds=seconds, nats=nats)
            await run(16, follow=1, seconds=seconds, nats=nats)
            await run(8, follow=0, seconds=seconds, nats=nats)
            await run(8, follow=0, seconds=seconds, nats=None)


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=float, default=8.0)
    parser.add_argument("--practices", type=int, default=0)
    parser.add_argument("--board", action="store_true")
    parser.add_argument("--url", default="")
    given = parser.parse_args()
    if given.practices:
        asyncio.run(practices(given.url, given.practices, given.seconds))
    elif given.board:
        asyncio.run(board(given.url))
    else:
        asyncio.run(main(given.seconds))
