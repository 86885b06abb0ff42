"""A session's packets, changed in ways that must not matter or must show in one place only."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

import numpy as np

from sensors.events import PlayerSet, RawPacket, SourceEvent
from sensors.ids import SensorId, Side
from sensors.profiles.open_imu import pack, unpack

MIRROR_COUNTS = np.array([-1, -1, 1, 1, 1, -1])
"""A mirrored world in sensor axes with z flipped: forces (polar) change sign along z, rates (axial) along x and y."""


def mirrored(events: Iterable[SourceEvent]) -> list[SourceEvent]:
    """The same practice in a mirror: the other arm leads, and each sensor is the mirror image of itself."""
    out: list[SourceEvent] = []
    for event in events:
        match event:
            case PlayerSet():
                out.append(replace(event, lead_side=Side.RIGHT if event.lead_side is Side.LEFT else Side.LEFT))
            case RawPacket():
                out.append(replace(event, payload=recount(event.payload, lambda counts, _: counts * MIRROR_COUNTS)))
            case _:
                out.append(event)
    return out


def recount(payload: bytes, change: Callable[[np.ndarray, int], np.ndarray]) -> bytes:
    """Change a packet's counts, shape (n, 6), by a function of counts and sequence number."""
    unpacked = unpack(payload)
    counts = change(unpacked.counts.astype(np.int64), unpacked.sequence)
    return pack(
        sequence=unpacked.sequence,
        clock_us=unpacked.clock_us,
        counts=np.clip(counts, -32768, 32767).astype(np.int16),
    )


def recut(
    counts: np.ndarray, sizes: Iterable[int], *, sensor: SensorId, start_ns: int, delay_ns: int, spacing_us: int
) -> list[RawPacket]:
    """Packets of the given sizes from a sensor's samples, evenly spaced, each sent the moment it is full."""
    out: list[RawPacket] = []
    first = 0
    for sequence, size in enumerate(sizes):
        last = first + size - 1
        if last >= len(counts):
            break
        out.append(
            RawPacket(
                arrival_ns=start_ns + delay_ns + 1000 * spacing_us * last,
                sensor=sensor,
                payload=pack(sequence=sequence, clock_us=spacing_us * last, counts=counts[first : last + 1]),
            )
        )
        first = last + 1
    return out
