"""Ten minutes in the time they take to compute: an event loop whose clock jumps to the next timer instead of waiting for it.

    run_in_virtual_time(lambda: a_coroutine())

Everything that goes by the loop's time (`asyncio.sleep`, `asyncio.timeout`, `call_later`) and lives in this process keeps
its order and its intervals, and computing takes no time at all. What waits for the outside world (a socket, a thread) has
no place here: a wait that no timer ends is an error, not a standstill.
"""

from __future__ import annotations

import asyncio
import selectors
from collections.abc import Callable, Coroutine
from typing import Any, TypeVar

Result = TypeVar("Result")


class Standstill(Exception):
    """Nothing is due, now or ever: in real time this would hang."""


class _JumpingSelector(selectors.DefaultSelector):
    """Lets time pass instead of waiting."""

    def __init__(self) -> None:
        super().__init__()
        self.now_s = 0.0

    def select(self, timeout: float | None = None) -> list[tuple[selectors.SelectorKey, int]]:
        ready = super().select(0)
        if not ready and timeout is None:
            raise Standstill
        if not ready and timeout is not None and timeout > 0.0:
            self.now_s += timeout
        return ready


class VirtualTimeLoop(asyncio.SelectorEventLoop):
    def __init__(self) -> None:
        self._jumping = _JumpingSelector()
        super().__init__(self._jumping)

    def time(self) -> float:
        return self._jumping.now_s


def run_in_virtual_time(work: Callable[[], Coroutine[Any, Any, Result]]) -> Result:
    """Run `work` to its end on a loop of its own, which starts at zero."""
    with asyncio.Runner(loop_factory=VirtualTimeLoop) as runner:
        return runner.run(work())
