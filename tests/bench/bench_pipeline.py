"""How fast a practice goes through the whole pipeline, where the time goes, and whether memory grows with length.

    python -m tests.bench.bench_pipeline [MINUTES...]

Simulated practices (a swing every half minute, the fit moves first) written as recordings to a temporary folder and streamed
from there. Times are processor time, one core, best of three. A report, never a
pass or fail.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np

from fusion.orientation.track import SensorTrack
from fusion.pairing import Pairing
from fusion.pipeline import Pipeline
from sensors.events import RawPacket, SourceEvent
from sensors.ids import PAIR, Side
from sensors.ingest import Ingest
from sensors.profiles.open_imu import OPEN_IMU
from sensors.readings import ImuBlock
from sensors.record.reader import read_events
from sensors.record.writer import Recorder
from sensors.virtual.practice import make_practice
from sensors.virtual.session import Player, draw_session
from sensors.virtual.swing import SwingShape
from server.drills import default_drill

SECONDS_A_SWING = 30.0


def write_practice(path: Path, minutes: float) -> None:
    rng = np.random.default_rng(41)
    n_swings = max(1, round(60 * minutes / SECONDS_A_SWING))
    shapes = [SwingShape(fault=float(rng.uniform(0.0, 0.8))) for _ in range(n_swings)]
    practice = make_practice(shapes, rng, spread_over_s=60 * minutes)
    session = draw_session(practice, Player(name="Test Player", lead_side=Side.LEFT, club="7-iron"), 41)
    with Recorder(path) as recorder:
        for event in session.events():
            recorder.write(event)


def ingest_only(events: Iterable[SourceEvent]) -> None:
    ingest = Ingest()
    for event in events:
        ingest.push(event)


def orientation(events: Iterable[SourceEvent], *, paired: bool) -> None:
    ingest, pairing = Ingest(), Pairing()
    tracks = {role: SensorTrack(OPEN_IMU.nominal_rate_hz) for role in PAIR}
    for event in events:
        for item in ingest.push(event):
            if isinstance(item, ImuBlock):
                role = ingest.role_of(item.sensor)
                samples = tracks[role].push(item)
                if paired:
                    pairing.push(role, samples)


def whole(events: Iterable[SourceEvent], *, series: bool = False) -> None:
    pipeline = Pipeline(default_drill(), series=series)
    for event in events:
        pipeline.push(event)


def best_of(n: int, work: Callable[[], object]) -> float:
    times = []
    for _ in range(n):
        start_s = time.process_time()
        work()
        times.append(time.process_time() - start_s)
    return min(times)


def speed(path: Path) -> None:
    events = list(read_events(path))
    duration_s = (events[-1].arrival_ns - events[0].arrival_ns) * 1e-9
    n_samples = sum(len(OPEN_IMU.unpack(e.payload).gyr) for e in events if isinstance(e, RawPacket))
    stages = {
        "read the recording": lambda: list(read_events(path)),
        "decode, clock": lambda: ingest_only(events),
        "... and orientation": lambda: orientation(events, paired=False),
        "... and pairing": lambda: orientation(events, paired=True),
        "whole pipeline": lambda: whole(events),
        "whole pipeline, every instant kept": lambda: whole(events, series=True),
    }
    print(f"{duration_s / 60:.1f} min of two sensors, {n_samples} samples\n")
    print("| stages | us a sample | x real time |\n| --- | --- | --- |")
    for name, work in stages.items():
        spent_s = best_of(3, work)
        print(f"| {name} | {1e6 * spent_s / n_samples:.1f} | {duration_s / spent_s:.0f} |", flush=True)


def memory(path: Path, minutes: float) -> None:
    """In a process of its own: what the practice's length adds to it."""
    code = f"from tests.bench.bench_pipeline import streamed; streamed({str(path)!r})"
    answer = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    print(f"| {minutes:.0f} min | {answer.stdout.strip()} |", flush=True)


def resident_mb(pid: int | str) -> float:
    """Give the most that a process has held so far. Not getrusage: a process begins with its parent's maximum there."""
    status = Path(f"/proc/{pid}/status").read_text(encoding="utf-8")
    return int(status.split("VmHWM:")[1].split()[0]) / 1024


def streamed(path: str) -> None:
    whole(read_events(Path(path)))
    held_mb = resident_mb("self")
    tracemalloc.start()
    whole(read_events(Path(path)))
    current, peak = tracemalloc.get_traced_memory()
    print(f"{held_mb:.0f} | {peak / 1e6:.1f} | {current / 1e6:.1f}")


def main(lengths: list[float]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        paths = {minutes: Path(folder) / f"{minutes:.0f}.mcap" for minutes in lengths}
        for minutes, path in paths.items():
            write_practice(path, minutes)
        speed(paths[lengths[0]])
        print(
            "\n| length | resident at most, MB | Python's own at most, MB | left at the end, MB |\n| --- | --- | --- | --- |"
        )
        for minutes, path in paths.items():
            memory(path, minutes)


if __name__ == "__main__":
    main([float(word) for word in sys.argv[1:]] or [5.0, 15.0, 30.0])
