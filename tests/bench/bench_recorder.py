"""What recording costs: bytes a minute, processor time, and how long `write` holds up the event loop.

    python -m tests.bench.bench_recorder [--seconds 40]

Two sensors at 200 samples a second, ten to a packet, in real time, through the writing thread to a temporary folder, synced to
the disk every second as in a practice. The bytes of the packets are random, which no compression could make smaller.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from pathlib import Path

import numpy as np

from sensors.events import RawPacket, SensorInfo
from sensors.ids import Role, SensorId
from sensors.profiles.open_imu import NAME, RATE_HZ, SAMPLES_PER_PACKET, pack
from sensors.record.background import BackgroundRecorder

SENSORS = {SensorId("C0:FF:EE:00:00:01"): Role.FOREARM, SensorId("C0:FF:EE:00:00:02"): Role.CLUB}


def packet(sensor: SensorId, sequence: int, rng: np.random.Generator) -> RawPacket:
    counts = rng.integers(-3000, 3000, (SAMPLES_PER_PACKET, 6)).astype(np.int16)
    payload = pack(sequence=sequence, clock_us=50_000 * sequence, counts=counts)
    return RawPacket(arrival_ns=time.monotonic_ns(), sensor=sensor, payload=payload)


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--seconds", type=float, default=40.0)
    seconds = words.parse_args().seconds
    rng = np.random.default_rng(1)
    waits_s = []
    with tempfile.TemporaryDirectory() as folder:
        recorder = BackgroundRecorder(Path(folder) / "a.mcap")
        for sensor, role in SENSORS.items():
            info = SensorInfo(arrival_ns=time.monotonic_ns(), sensor=sensor, role=role, profile=NAME, name=role)
            recorder.write(info)
        period_s = SAMPLES_PER_PACKET / RATE_HZ
        start_s, n, feeding_s = time.monotonic(), 0, 0.0
        cpu_s = time.process_time()
        while n * period_s < seconds:
            began_s = time.thread_time()
            events = [packet(sensor, n, rng) for sensor in SENSORS]
            feeding_s += time.thread_time() - began_s
            for event in events:
                began_s = time.perf_counter()
                recorder.write(event)
                waits_s.append(time.perf_counter() - began_s)
            n += 1
            time.sleep(max(0.0, start_s + n * period_s - time.monotonic()))
        cpu_s = time.process_time() - cpu_s - feeding_s
        status = recorder.close()
        size_bytes = status.paths[0].stat().st_size
    took_s = time.monotonic() - start_s
    p50_s, p99_s, most_s = np.quantile(waits_s, [0.5, 0.99, 1.0])
    print(f"{size_bytes / took_s * 60 / 1e6:.3f} MB a minute ({size_bytes} bytes in {took_s:.1f} s)")
    print(f"{100 * cpu_s / took_s:.2f} % of one core, both threads, without making the packets")
    print(f"write(): {p50_s * 1e6:.0f} us median, {p99_s * 1e6:.0f} us 99 %, {most_s * 1e6:.0f} us at most")


if __name__ == "__main__":
    main()
