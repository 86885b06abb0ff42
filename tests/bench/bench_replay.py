"""How fast a recording goes through the whole pipeline, and where the time goes.

    python -m tests.bench.bench_replay [RECORDING]

A report, never a pass or fail. One core.
"""

from __future__ import annotations

import sys
import time
import tracemalloc
from pathlib import Path

from fusion.drills.catalogue import default_drill
from fusion.pipeline import Pipeline
from sensors.events import RawPacket
from sensors.ingest import Ingest
from sensors.profiles.open_imu import OPEN_IMU
from sensors.record.reader import read_events
from server.cli.demo_recording import demo_recording


def best_of(n: int, work) -> float:
    """Shortest wall time of n runs: what the machine can do when nothing else disturbs it."""
    times = []
    for _ in range(n):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def through(stage, events) -> None:
    for event in events:
        stage.push(event)


def main(path: Path) -> None:
    events = list(read_events(path))
    duration_s = (events[-1].arrival_ns - events[0].arrival_ns) * 1e-9
    n_samples = sum(len(OPEN_IMU.unpack(e.payload).counts) for e in events if isinstance(e, RawPacket))
    read_s = best_of(3, lambda: list(read_events(path)))
    ingest_s = best_of(3, lambda: through(Ingest(), events))
    whole_s = best_of(3, lambda: through(Pipeline(default_drill()), events))
    tracemalloc.start()
    through(Pipeline(default_drill()), read_events(path))
    peak_mb = tracemalloc.get_traced_memory()[1] / 1e6
    print(f"{path.name}: {duration_s:.0f} s of two sensors, {n_samples} samples")
    print("| stage | us a sample | x real time |\n| --- | --- | --- |")
    for name, spent_s in (("read", read_s), ("decode and clock", ingest_s), ("whole pipeline", whole_s)):
        print(f"| {name} | {1e6 * spent_s / n_samples:.1f} | {duration_s / spent_s:.0f} |")
    print(f"peak of Python's own memory while streaming: {peak_mb:.1f} MB")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else demo_recording())
