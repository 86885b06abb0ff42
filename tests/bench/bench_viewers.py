"""How many pages one practice can have, and what one that never reads costs the others.

    python -m tests.bench.bench_viewers [--viewers N...] [--deaf N] [--seconds N]

A recording played at its own pace, over and over, through the real engine and web server. Viewers are websocket clients in
another process: they take every byte and acknowledge like the page. A probe in a third process, a full client, tells how old
frames are when it has them, from the moment the source gave the packet. Clients that are deaf join and never read a byte.
On a machine with two cores the viewers' own work is the other one's: what counts is the service's share of a core.
A report, never a pass or fail.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import resource
import socket
import sys
import time

import numpy as np

from server.cli.demo_recording import demo_recording
from server.engine import Engine
from server.wire import SourceView
from tests.bench.bench_latency import StampedPipeline, StampedReplay, Stamps
from tests.live_service import running

ACK_EVERY_S = 0.25
SETTLE_S = 2.0


class Viewer(asyncio.Protocol):
    """Takes everything, and acknowledges the newest frame four times a second; as cheap as a client can be."""

    n_bytes = 0

    def __init__(self, port: int) -> None:
        self._port = port
        self._newest = self._acked = b""
        self._transport: asyncio.Transport | None = None

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        assert isinstance(transport, asyncio.Transport)
        self._transport = transport
        transport.write(handshake(self._port))
        self._acknowledge()

    def data_received(self, data: bytes) -> None:
        Viewer.n_bytes += len(data)
        at = data.rfind(b'"seq":')
        if at >= 0:
            self._newest = data[at + 6 : at + 16].split(b",")[0].split(b"}")[0]

    def _acknowledge(self) -> None:
        assert self._transport is not None
        if self._newest != self._acked:
            self._acked = self._newest
            ack = b'{"type":"ack","seq":%b}' % self._newest
            self._transport.write(
                bytes([0x81, 0x80 | len(ack), 0, 0, 0, 0]) + ack
            )  # masked with nothing: RFC 6455, 5.3
        asyncio.get_running_loop().call_later(ACK_EVERY_S, self._acknowledge)


def handshake(port: int) -> bytes:
    return (
        f"GET /ws/live HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
        "Sec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\r\nSec-WebSocket-Version: 13\r\n\r\n"
    ).encode()


async def view(port: int, n_viewers: int) -> None:
    """The viewers' process: joins as many, until its input ends."""
    loop = asyncio.get_running_loop()
    for _ in range(n_viewers):
        await loop.create_connection(lambda: Viewer(port), "127.0.0.1", port)
    print("ready", flush=True)
    await asyncio.to_thread(sys.stdin.read)
    print(json.dumps({"bytes": Viewer.n_bytes, "cpu_s": time.process_time()}), flush=True)
    os._exit(0)


def deaf(port: int) -> socket.socket:
    """Join with next to no room for what arrives, and never read."""
    client = socket.socket()
    client.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 2048)
    client.connect(("127.0.0.1", port))
    client.sendall(handshake(port))
    return client


async def probe(port: int, seconds: float) -> None:
    """The probe's process: when it had which frame, as JSON."""
    from websockets.asyncio.client import connect

    frames: list[tuple[int, int]] = []

    async def acknowledge() -> None:
        while True:
            await asyncio.sleep(ACK_EVERY_S)
            if frames:
                await client.send(json.dumps({"type": "ack", "seq": frames[-1][0]}))

    async with connect(f"ws://127.0.0.1:{port}/ws/live", compression=None, proxy=None) as client:
        acks = asyncio.create_task(acknowledge())
        end_s = time.monotonic() + seconds
        async for text in client:
            now_ns = time.monotonic_ns()
            message = json.loads(text)
            if message["type"] == "frame":
                frames.append((message["seq"], now_ns))
            if time.monotonic() > end_s:
                break
        acks.cancel()
    print(json.dumps(frames))


async def measure(n_viewers: int, n_deaf: int, seconds: float) -> None:
    stamps = Stamps()
    engine = Engine(
        lambda: StampedReplay(demo_recording(), stamps, float("inf"), hurry_fit=True),
        view=SourceView(kind="demo", name="evening", speed=1.0),
        repeat=True,
        make_pipeline=lambda: StampedPipeline(stamps),
    )
    async with running(engine) as service:
        viewers = await asyncio.create_subprocess_exec(
            sys.executable, "-m", "tests.bench.bench_viewers", "--as-viewers", str(service.port), str(n_viewers),
            stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE,
        )  # fmt: skip
        assert viewers.stdin is not None
        assert viewers.stdout is not None
        await viewers.stdout.readline()
        silent = [deaf(service.port) for _ in range(n_deaf)]
        await asyncio.sleep(SETTLE_S)
        wall_s, cpu_s = time.monotonic(), time.process_time()
        listener = await asyncio.create_subprocess_exec(
            sys.executable, "-m", "tests.bench.bench_viewers", "--as-probe", str(service.port), str(seconds),
            stdout=asyncio.subprocess.PIPE, limit=2**26,
        )  # fmt: skip
        assert listener.stdout is not None
        seen = json.loads(await listener.stdout.readline())
        wall_s, cpu_s = time.monotonic() - wall_s, time.process_time() - cpu_s
        n_present = len(engine.hub.mailboxes)
        viewers.stdin.close()
        theirs = json.loads(await viewers.stdout.readline())
        await listener.wait()
        await viewers.wait()
        for client in silent:
            client.close()
    ages_ms = [(at_ns - stamps.frames[seq - 1]) / 1e6 for seq, at_ns in seen]
    p50, p99 = np.percentile(ages_ms, [50, 99])
    print(
        f"| {n_viewers} | {n_deaf} | {len(ages_ms)} | {p50:.1f} | {p99:.1f} | {100 * cpu_s / wall_s:.0f} % "
        f"| {theirs['bytes'] / 1e6 / wall_s:.1f} | {n_present} | {os.getloadavg()[0]:.1f} |",
        flush=True,
    )


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--viewers", type=int, nargs="*", default=[0, 50, 100, 200, 400])
    words.add_argument("--deaf", type=int, default=20)
    words.add_argument("--seconds", type=float, default=15.0)
    words.add_argument("--as-viewers", type=int, nargs=2, help=argparse.SUPPRESS)
    words.add_argument("--as-probe", nargs=2, help=argparse.SUPPRESS)
    chosen = words.parse_args()
    _, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (hard, hard))
    if chosen.as_viewers:
        asyncio.run(view(*chosen.as_viewers))
    elif chosen.as_probe:
        asyncio.run(probe(int(chosen.as_probe[0]), float(chosen.as_probe[1])))
    else:
        print(
            "| viewers | deaf | frames at the probe | age p50 ms | p99 ms | service, of one core | MB/s | still there | load |"
        )
        print("| --- | --- | --- | --- | --- | --- | --- | --- | --- |")
        for n_viewers in chosen.viewers:
            asyncio.run(measure(n_viewers, 0, chosen.seconds))
        if chosen.deaf:
            asyncio.run(measure(0, chosen.deaf, chosen.seconds))


if __name__ == "__main__":
    main()
