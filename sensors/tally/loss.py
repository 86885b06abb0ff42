"""How many samples came and how many did not, of late."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import Final

RECENT_S: Final = 10
_BUCKET_NS: Final = 500_000_000
_BUCKETS: Final = RECENT_S * 1_000_000_000 // _BUCKET_NS


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """Samples and packets that came and that were lost."""

    n_samples: int = 0
    n_lost: int = 0
    n_packets: int = 0
    n_packets_lost: int = 0
    known: bool = True
    """False for a sensor whose packets have neither counter nor clock: then 0 lost says nothing."""

    @property
    def share(self) -> float | None:
        """Lost samples of all that were sent, 0 to 1; None when that is not known, or none are known to have been sent."""
        if not self.known:
            return None
        n_sent = self.n_samples + self.n_lost
        return self.n_lost / n_sent if n_sent else None


NO_LOSS: Final = Loss()


class RecentLoss:
    """Counts in half seconds; `at` sums up the last ten seconds."""

    def __init__(self) -> None:
        self._buckets: deque[tuple[int, list[int]]] = deque(maxlen=_BUCKETS)
        """Number of the half second, and its counts in the order of `Loss`."""

    def note(
        self, arrival_ns: int, *, n_samples: int = 0, n_lost: int = 0, n_packets: int = 0, n_packets_lost: int = 0
    ) -> None:
        """Count in what was found at `arrival_ns`."""
        bucket = arrival_ns // _BUCKET_NS
        if not self._buckets or self._buckets[-1][0] != bucket:
            self._buckets.append((bucket, [0, 0, 0, 0]))
        counts = self._buckets[-1][1]
        counts[0] += n_samples
        counts[1] += n_lost
        counts[2] += n_packets
        counts[3] += n_packets_lost

    def at(self, now_ns: int) -> Loss:
        """Of the last ten seconds."""
        newest = now_ns // _BUCKET_NS
        recent = [counts for bucket, counts in self._buckets if newest - bucket < _BUCKETS]
        samples, lost, packets, packets_lost = (
            (sum(column) for column in zip(*recent, strict=True)) if recent else (0, 0, 0, 0)
        )
        return Loss(n_samples=samples, n_lost=lost, n_packets=packets, n_packets_lost=packets_lost)
