"""How long a packet takes to become a frame at a client's socket, and what the service costs while it does.

    python -m tests.bench.bench_latency [RECORDING] [--seconds N]

Plays a recording at the pace it was made, through the real engine and web server, to one websocket client in its own process.
Latency is from the moment the source gives the packet to the moment the client holds the frame, on one monotonic clock.
A report, never a pass or fail.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import sys
import time
from collections.abc import AsyncIterator
from pathlib import Path

import numpy as np
import uvicorn
from websockets.asyncio.client import connect

from fusion.outputs.cue import CueChange
from fusion.outputs.instant import Readout
from fusion.outputs.output import Output
from fusion.pipeline import Pipeline
from sensors.events import RawPacket, SourceEvent
from sensors.sources.replay import ReplaySource
from server.app import make_app
from server.bays.bay import Bays
from server.bays.local_bay import LocalBay
from server.cli.demo_recording import demo_recording
from server.drills import default_drill
from server.engine import Engine
from server.web import config_of
from server.wire import SourceView
from tests.serving import serving

ACK_EVERY_S = 0.25
WARM_UP_FRAMES = 40


class Stamps:
    """When the source gave the packet of each frame, and of each cue, in the order in which they go out."""

    def __init__(self) -> None:
        self.given_ns = 0
        self.frames: list[int] = []
        self.cues: list[int] = []
        self.push_ns: list[int] = []


class StampedReplay(ReplaySource):
    """Notes the moment each event is given; ends early if asked to."""

    def __init__(self, path: Path, stamps: Stamps, seconds: float, *, hurry_fit: bool = False) -> None:
        super().__init__(path, hurry_fit=hurry_fit)
        self._stamps = stamps
        self._seconds = seconds

    async def __aiter__(self) -> AsyncIterator[SourceEvent]:
        first_ns: int | None = None
        async for event in super().__aiter__():
            first_ns = event.arrival_ns if first_ns is None else first_ns
            if event.arrival_ns - first_ns > self._seconds * 1e9:
                return
            self._stamps.given_ns = time.monotonic_ns()
            yield event


class StampedPipeline(Pipeline):
    """Notes which packet each frame and cue comes from, and how long the numbers take."""

    def __init__(self, stamps: Stamps) -> None:
        super().__init__(default_drill())
        self._stamps = stamps

    def push(self, event: SourceEvent) -> tuple[Output, ...]:
        start_ns = time.perf_counter_ns()
        outputs = super().push(event)
        if isinstance(event, RawPacket):
            self._stamps.push_ns.append(time.perf_counter_ns() - start_ns)
        self._stamps.frames += [self._stamps.given_ns for output in outputs if isinstance(output, Readout)]
        self._stamps.cues += [self._stamps.given_ns for output in outputs if isinstance(output, CueChange)]
        return outputs


async def listen_as_client(port: int) -> None:
    """The other process: acknowledge like the page, and print what came when, as JSON."""
    frames: list[tuple[int, int]] = []
    cues: list[int] = []
    acked_s = 0.0
    async with connect(f"ws://127.0.0.1:{port}/ws/live", compression=None, proxy=None) as socket:
        print("ready", flush=True)
        async for text in socket:
            now_ns = time.monotonic_ns()
            message = json.loads(text)
            if message["type"] == "frame":
                frames.append((message["seq"], now_ns))
                if now_ns * 1e-9 - acked_s > ACK_EVERY_S:
                    acked_s = now_ns * 1e-9
                    await socket.send(json.dumps({"type": "ack", "seq": message["seq"]}))
            elif message["type"] == "cue":
                cues.append(now_ns)
            elif message["type"] == "end":
                break
    print(json.dumps({"frames": frames, "cues": cues}))


async def measure(path: Path, seconds: float) -> None:
    stamps = Stamps()
    joined = asyncio.Event()

    class Waiting(StampedReplay):
        async def __aenter__(self):
            await joined.wait()
            return await super().__aenter__()

    engine = Engine(
        lambda: Waiting(path, stamps, seconds),
        view=SourceView(kind="replay", name=path.name, speed=1.0),
        make_pipeline=lambda: StampedPipeline(stamps),
    )
    server = uvicorn.Server(
        config_of(
            make_app(
                Bays([LocalBay(engine, id="one", name="One")]), on_bug=lambda _: sys.exit("a bug ended the practice")
            )
        )
    )
    async with serving(server) as port:
        client = await asyncio.create_subprocess_exec(
            sys.executable, "-m", "tests.bench.bench_latency", "--client", str(port),
            stdout=asyncio.subprocess.PIPE, limit=2**26,
        )  # fmt: skip
        await client.stdout.readline()
        load_before = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
        wall_s, cpu_s = time.monotonic(), time.process_time()
        joined.set()
        heard = json.loads(await client.stdout.readline())
        wall_s, cpu_s = time.monotonic() - wall_s, time.process_time() - cpu_s
        await client.wait()
    report(path, stamps, heard, wall_s=wall_s, cpu_s=cpu_s, load=load_before)


def report(path: Path, stamps: Stamps, heard: dict, *, wall_s: float, cpu_s: float, load: float) -> None:
    frames_ms = [(at_ns - stamps.frames[seq - 1]) / 1e6 for seq, at_ns in heard["frames"] if seq > WARM_UP_FRAMES]
    cues_ms = [(at_ns - given_ns) / 1e6 for given_ns, at_ns in zip(stamps.cues, heard["cues"], strict=True)]
    print(f"{path.name}: {wall_s:.0f} s at its own pace, one client; machine load before {load:.2f}")
    print("| from packet in | n | p50 ms | p99 ms | max ms |\n| --- | --- | --- | --- | --- |")
    rows = (
        ("to numbers (pipeline alone)", [ns / 1e6 for ns in stamps.push_ns]),
        ("to frame at the client", frames_ms),
        ("to cue at the client", cues_ms),
    )
    for name, values_ms in rows:
        if values_ms:
            p50, p99, worst = np.percentile(values_ms, [50, 99, 100])
            print(f"| {name} | {len(values_ms)} | {p50:.2f} | {p99:.2f} | {worst:.2f} |")
    skipped = len(stamps.frames) - len(heard["frames"])
    print(
        f"frames made {len(stamps.frames)}, skipped {skipped}; CPU of the service {100 * cpu_s / wall_s:.1f} % of one core"
    )


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("recording", nargs="?", type=Path, default=demo_recording())
    words.add_argument("--seconds", type=float, default=float("inf"), help="stop after so much of the recording")
    words.add_argument("--client", type=int, help=argparse.SUPPRESS)
    chosen = words.parse_args()
    if chosen.client is not None:
        asyncio.run(listen_as_client(chosen.client))
    else:
        asyncio.run(measure(chosen.recording, chosen.seconds))


if __name__ == "__main__":
    main()
