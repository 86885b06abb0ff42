"""How fast one client may add marks, notes and messages: a page gone wild must not fill a recording."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Final

BURST: Final = 10
PER_S: Final = 1.0
"""A coach who marks every rep of six players is far below it."""


class Pace:
    """`BURST` at once, and `PER_S` more with each second. `clock_s` is for tests."""

    def __init__(self, clock_s: Callable[[], float] = time.monotonic) -> None:
        self._clock_s = clock_s
        self._left = float(BURST)
        self._at_s = clock_s()

    def allows(self) -> bool:
        """Take one, if there is one."""
        now_s = self._clock_s()
        self._left = min(float(BURST), self._left + PER_S * (now_s - self._at_s))
        self._at_s = now_s
        if self._left < 1.0:
            return False
        self._left -= 1.0
        return True
