"""How late packets arrive against the least delayed ones: the jitter of the radio.

Of the last seconds exactly; of the whole practice from a histogram of half milliseconds.
"""

from __future__ import annotations

from array import array
from collections import deque
from dataclasses import dataclass
from typing import Final

import numpy as np

RECENT_NS: Final = 10_000_000_000
_MOST_RECENT: Final = 2048
_BIN_S: Final = 0.0005
_N_BINS: Final = 4000
"""Up to 2 s; what is later falls into the last one."""
_SHARES: Final = (0.5, 0.95, 0.99)


@dataclass(frozen=True, slots=True, kw_only=True)
class Jitter:
    """Seconds by which half, 95 and 99 of a hundred packets were late at most."""

    p50_s: float
    p95_s: float
    p99_s: float


class Lateness:
    """Takes in each packet's lateness, seconds after the clock fit's line."""

    def __init__(self) -> None:
        self._bins = array("q", bytes(8 * _N_BINS))  # counted up one by one, which numpy's takes five times as long for
        self._recent: deque[tuple[int, float]] = deque(maxlen=_MOST_RECENT)

    def note(self, arrival_ns: int, late_s: float) -> None:
        """Count one packet."""
        late_s = max(0.0, late_s)
        self._bins[min(int(late_s / _BIN_S), _N_BINS - 1)] += 1
        self._recent.append((arrival_ns, late_s))
        while arrival_ns - self._recent[0][0] > RECENT_NS:
            self._recent.popleft()

    def recent(self, now_ns: int) -> Jitter | None:
        """Of the packets of the last ten seconds; None without any."""
        late_s = [late_s for at_ns, late_s in self._recent if now_ns - at_ns <= RECENT_NS]
        if not late_s:
            return None
        return _jitter(*(float(value) for value in np.quantile(late_s, _SHARES)))

    def overall(self) -> Jitter | None:
        """Of all packets, to half a millisecond; None without any."""
        counted = np.cumsum(self._bins)
        if not counted[-1]:
            return None
        places = np.searchsorted(counted, [share * counted[-1] for share in _SHARES])
        return _jitter(*(float((place + 0.5) * _BIN_S) for place in places))


def _jitter(p50_s: float, p95_s: float, p99_s: float) -> Jitter:
    return Jitter(p50_s=p50_s, p95_s=p95_s, p99_s=p99_s)
