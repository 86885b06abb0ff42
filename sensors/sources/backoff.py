"""How long to wait before the next try, by what went wrong. No clock, no chance: same troubles, same delays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from sensors.events import LinkReason

_GROWTH: Final = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Delays:
    """The first delay and the longest; each failure in a row doubles it from one to the other."""

    first_s: float
    longest_s: float


DELAYS: Final[dict[LinkReason, Delays]] = {
    LinkReason.DROPPED: Delays(first_s=0.1, longest_s=5.0),  # mostly a body in the way: gone in a moment
    LinkReason.OUT_OF_RANGE: Delays(first_s=0.1, longest_s=5.0),
    LinkReason.SWITCHED_OFF: Delays(first_s=0.5, longest_s=5.0),
    LinkReason.BATTERY_EMPTY: Delays(first_s=0.5, longest_s=10.0),
    LinkReason.SILENT: Delays(first_s=0.5, longest_s=10.0),
    LinkReason.CONNECT_FAILED: Delays(first_s=0.5, longest_s=10.0),
    LinkReason.IN_USE: Delays(first_s=1.0, longest_s=5.0),  # until the other program is closed
    LinkReason.NOT_FOUND: Delays(first_s=0.0, longest_s=0.0),  # the scan itself is the wait
    LinkReason.WRONG_DEVICE: Delays(first_s=5.0, longest_s=60.0),  # cured by other firmware, not by trying
    LinkReason.ADAPTER_OFF: Delays(first_s=1.0, longest_s=2.0),  # someone is about to switch it on and watches
    LinkReason.NO_ADAPTER: Delays(first_s=2.0, longest_s=5.0),
    LinkReason.SERVICE_OFF: Delays(first_s=1.0, longest_s=5.0),
    LinkReason.ADAPTER_STUCK: Delays(first_s=1.0, longest_s=10.0),  # often the system's own next command frees it
    LinkReason.PERMISSION_DENIED: Delays(first_s=5.0, longest_s=30.0),
}
"""Every reason for which a source tries again."""


def delay_s(reason: LinkReason, n_before: int) -> float:
    """Seconds to wait after a failure for `reason` that had `n_before` failures for the same reason before it."""
    delays = DELAYS[reason]
    if delays.first_s == 0.0:
        return 0.0
    # The exponent is held where the longest delay is reached for sure, or a day of failures would overflow it.
    return min(delays.longest_s, delays.first_s * _GROWTH ** min(n_before, 16))


class Backoff:
    """Counts the failures of one sensor. Another reason starts another count; a good link wipes them all."""

    def __init__(self, *, scale: float = 1.0) -> None:
        self._scale = scale
        self._n_failures: dict[LinkReason, int] = {}

    def forget(self) -> None:
        """Call when things went well for a while."""
        self._n_failures.clear()

    def next_delay_s(self, reason: LinkReason) -> float:
        """Note one more failure and give the wait before the next try."""
        n_before = self._n_failures.get(reason, 0)
        self._n_failures[reason] = n_before + 1
        return self._scale * delay_s(reason, n_before)
