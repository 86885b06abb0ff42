"""Notices when the clocks of this computer part: the wall clock was set, or the computer slept.

Stamps are of the steady clock and are touched by neither; but a person, and the clock fits, should know of both.
"""

from __future__ import annotations

import platform
import time
from collections.abc import Callable
from typing import Final

from sensors.events import ClockJump, ClockJumpCause

_LEAST_S: Final = 2.0
"""Less is a time server's usual correction, and the time this program may be held up between two readings."""


_SLEEPLESS_CLOCK: Final[dict[str, str]] = {"Linux": "CLOCK_BOOTTIME", "Darwin": "CLOCK_MONOTONIC"}
"""Clocks that run on while the computer sleeps, where the steady one stands still. On Windows that runs on itself."""


def sleepless_clock() -> Callable[[], int] | None:
    """Find this system's clock that runs on while it sleeps; None where there is none, or no need of it."""
    clock = getattr(time, _SLEEPLESS_CLOCK.get(platform.system(), ""), None)
    return None if clock is None else lambda: time.clock_gettime_ns(clock)


class ClockWatch:
    """Ask `look()` now and then. The clocks are for tests."""

    def __init__(
        self,
        *,
        steady_ns: Callable[[], int] = time.monotonic_ns,
        wall_ns: Callable[[], int] = time.time_ns,
        sleepless_ns: Callable[[], int] | None = None,
    ) -> None:
        self._steady_ns = steady_ns
        self._wall_ns = wall_ns
        self._sleepless_ns = sleepless_ns or sleepless_clock()
        self._slept_ns, self._ahead_ns = self._read()

    def look(self) -> tuple[ClockJump, ...]:
        """Give what has jumped since the last look."""
        slept_ns, ahead_ns = self._read()
        slept_s = (slept_ns - self._slept_ns) * 1e-9
        set_s = (ahead_ns - self._ahead_ns) * 1e-9
        self._slept_ns, self._ahead_ns = slept_ns, ahead_ns
        jumps = ((ClockJumpCause.SLEEP, slept_s), (ClockJumpCause.SET, set_s))
        now_ns = self._steady_ns()
        return tuple(ClockJump(arrival_ns=now_ns, cause=cause, seconds=s) for cause, s in jumps if abs(s) >= _LEAST_S)

    def _read(self) -> tuple[int, int]:
        """Time slept so far, and how far the wall clock is ahead of the steady one beyond that, nanoseconds."""
        steady_ns = self._steady_ns()
        slept_ns = 0 if self._sleepless_ns is None else self._sleepless_ns() - steady_ns
        return slept_ns, self._wall_ns() - steady_ns - slept_ns
