"""Rows to packets, the way a radio would have brought them.

Rows that arrived together (the same stamp, or within 1 ms) are one packet. Rows that arrived one by one are put together
by tens: their device times say when each was measured, and a packet a row would only cost time. A packet's arrival is that
of its last row.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Generator, Iterable, Iterator, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from sensors.events import RawPacket
from sensors.ids import SensorId
from sensors.profiles.float_imu import MAX_SAMPLES, pack
from server.importing.table import Block

TOGETHER_NS: Final = 1_000_000
MAX_SINGLES: Final = 10
SINGLES_SPAN_NS: Final = 100_000_000
"""Rows further apart than this are not put together."""


def packets(sensor: SensorId, blocks: Iterable[Block], zero_s: int) -> Iterator[RawPacket]:
    """Packets of one sensor in order; `arrival_ns` counts from `zero_s` on the arrival clock."""
    rest: NDArray[np.float64] = np.empty((0, 8))
    for block in blocks:
        fresh = np.column_stack([block.device_s, block.arrival_s, block.values])
        rest = yield from _closed(sensor, np.vstack([rest, fresh]), zero_s, final=False)
    yield from _closed(sensor, rest, zero_s, final=True)


def stamp_ns(arrival_s: float, zero_s: int) -> int:
    """Arrival time as integer nanoseconds from `zero_s`; a whole second, so that the difference is exact."""
    return round((arrival_s - zero_s) * 1e9)


def _closed(
    sensor: SensorId, rows: NDArray[np.float64], zero_s: int, *, final: bool
) -> Generator[RawPacket, None, NDArray[np.float64]]:
    """Yield the packets that no later row can join; give the rows that are left."""
    arrivals_ns = np.rint((rows[:, 1] - zero_s) * 1e9).astype(np.int64).tolist()
    end = 0
    for start, end in cuts(arrivals_ns, final=final):
        part = rows[start:end]
        payload = pack(device_s=part[:, 0], gyr_rad_s=part[:, 2:5], acc_m_s2=part[:, 5:])
        yield RawPacket(arrival_ns=arrivals_ns[end - 1], sensor=sensor, payload=payload)
    return rows[end:]


def cuts(arrivals_ns: Sequence[int], *, final: bool) -> Iterator[tuple[int, int]]:
    """Cut rows into packets, (start, end) each, in order. Unless `final`, rows that a later one might join are left."""
    n, start = len(arrivals_ns), 0
    while start < n:
        end = _end_of_burst(arrivals_ns, start)
        if end == n and not final and n - start < MAX_SAMPLES:
            return
        if end == start + 1:
            group_end = _end_of_singles(arrivals_ns, start, final=final)
            if group_end is None:
                return
            end = group_end
        yield start, end
        start = end


def _end_of_singles(arrivals_ns: Sequence[int], start: int, *, final: bool) -> int | None:
    """First row after `start` that is not put together with it; None while that cannot be told."""
    n, end = len(arrivals_ns), start + 1
    while end < n and end - start < MAX_SINGLES and arrivals_ns[end] - arrivals_ns[start] <= SINGLES_SPAN_NS:
        if end + 1 == n and not final:
            return None
        if _end_of_burst(arrivals_ns, end) > end + 1:
            break
        end += 1
    return end


def _end_of_burst(arrivals_ns: Sequence[int], start: int) -> int:
    """First row after `start` that did not arrive together with it."""
    limit = min(start + MAX_SAMPLES, len(arrivals_ns))
    return bisect_right(arrivals_ns, arrivals_ns[start] + TOGETHER_NS, start, limit)
