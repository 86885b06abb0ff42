"""What virtual sensors send: made-up counts, or the packets of a practice out of a file."""

from __future__ import annotations

import itertools
import json
from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np

from sensors.profiles.open_imu import RATE_HZ, SAMPLES_PER_PACKET, pack
from sensors.virtual.stage.board import TimedPayload


def synthetic(
    index: int, *, rate_hz: float = RATE_HZ, samples_per_packet: int = SAMPLES_PER_PACKET
) -> Iterator[TimedPayload]:
    """Packets without end: sequence and device clock as a sensor of the open profile keeps them, counts at random."""
    rng = np.random.default_rng(index)
    for sequence in itertools.count():
        due_s = (sequence + 1) * samples_per_packet / rate_hz
        counts = rng.integers(-2000, 2000, size=(samples_per_packet, 6), dtype=np.int16)
        yield due_s, pack(sequence=sequence, clock_us=round(due_s * 1e6), counts=counts)


def write_practice(path: Path, packets: Iterable[tuple[float, int, bytes]]) -> None:
    """Write (seconds since the beginning, sensor index, payload) as JSON lines, for `practice` to play."""
    with path.open("w", encoding="utf-8") as file:
        for seconds, index, payload in packets:
            file.write(json.dumps([seconds, index, payload.hex()]) + "\n")


def practice(path: Path, index: int) -> Iterator[TimedPayload]:
    """The packets of one sensor in a file that `write_practice` wrote."""
    with path.open(encoding="utf-8") as file:
        for line in file:
            seconds, sensor_index, payload = json.loads(line)
            if sensor_index == index:
                yield seconds, bytes.fromhex(payload)
