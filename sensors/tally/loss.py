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
        self._buckets: deque[tuple[int, Loss]] = deque(maxlen=_BUCKETS)

    def note(self, arrival_ns: int, loss: Loss) -> None:
        """Count in what was found at `arrival_ns`."""
        bucket = arrival_ns // _BUCKET_NS
        if self._buckets and self._buckets[-1][0] == bucket:
            loss = _sum([self._buckets.pop()[1], loss])
        self._buckets.append((bucket, loss))

    def at(self, now_ns: int) -> Loss:
        """Of the last ten seconds."""
        newest = now_ns // _BUCKET_NS
        return _sum([loss for bucket, loss in self._buckets if newest - bucket < _BUCKETS])


def _sum(losses: list[Loss]) -> Loss:
    return Loss(
        n_samples=sum(loss.n_samples for loss in losses),
        n_lost=sum(loss.n_lost for loss in losses),
        n_packets=sum(loss.n_packets for loss in losses),
        n_packets_lost=sum(loss.n_packets_lost for loss in losses),
    )
