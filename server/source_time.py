"""What time it is for the source: the host's clock for a radio, the recorded clock, carried on, for a recording."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

_FRESH_NS: Final = 1_000_000_000


class SourceTime:
    """`speed` is how fast recorded time runs; None for a live source, whose stamps are of `clock_ns` itself."""

    def __init__(self, clock_ns: Callable[[], int], *, speed: float | None) -> None:
        self._clock_ns = clock_ns
        self._speed = speed
        self.last_ns: int | None = None
        """Newest stamp seen; None before the first event."""
        self._noted_ns = 0

    @property
    def is_known(self) -> bool:
        """Whether an event of now can be stamped: a recording's clock is known from its first event on."""
        return self._speed is None or self.last_ns is not None

    def restart(self) -> None:
        """The source begins anew, on whatever clock it has."""
        self.last_ns = None

    def note(self, arrival_ns: int) -> None:
        """An event of this stamp has come."""
        self.last_ns = arrival_ns
        self._noted_ns = self._clock_ns()

    def aside_ns(self) -> int:
        """Give a stamp for what must not move the stamp of a packet that is already on its way here.

        That of the newest event, unless nothing has come for a while.
        """
        now_ns, last_ns = self.now_ns(), self.last_ns
        return now_ns if last_ns is None or now_ns - last_ns > _FRESH_NS else last_ns

    def now_ns(self) -> int:
        """Give the source's time now, never before the newest event."""
        if self._speed is None:
            now_ns = self._clock_ns()
            return now_ns if self.last_ns is None else max(now_ns, self.last_ns)
        if self.last_ns is None:
            return 0
        return self.last_ns + round((self._clock_ns() - self._noted_ns) * self._speed)
