"""What time it is for the source: the host's clock for a radio, the recorded clock, carried on, for a recording."""

from __future__ import annotations

from collections.abc import Callable


class SourceTime:
    """`speed` is how fast recorded time runs; None for a live source, whose stamps are of `clock_ns` itself."""

    def __init__(self, clock_ns: Callable[[], int], *, speed: float | None) -> None:
        self._clock_ns = clock_ns
        self._speed = speed
        self.last_ns: int | None = None
        """Newest stamp seen; None before the first event."""
        self._noted_ns = 0

    def restart(self) -> None:
        """The source begins anew, on whatever clock it has."""
        self.last_ns = None

    def note(self, arrival_ns: int) -> None:
        """An event of this stamp has come."""
        self.last_ns = arrival_ns
        self._noted_ns = self._clock_ns()

    def now_ns(self) -> int:
        """Give the source's time now, never before the newest event."""
        if self._speed is None:
            now_ns = self._clock_ns()
            return now_ns if self.last_ns is None else max(now_ns, self.last_ns)
        if self.last_ns is None:
            return 0
        return self.last_ns + round((self._clock_ns() - self._noted_ns) * self._speed)
