"""How often somebody may be wrong before nobody listens for a while."""

from __future__ import annotations

import time
from collections import OrderedDict, deque
from collections.abc import Callable
from typing import Final

MAX_ADDRESSES: Final = 1024
"""Beyond it the address that has been quiet longest is forgotten."""


class GuessLimit:
    """Counts wrong guesses by address: after `most` of them within `within_s`, that address is over the limit."""

    def __init__(self, *, most: int, within_s: float, now_s: Callable[[], float] = time.monotonic) -> None:
        self._most = most
        self._within_s = within_s
        self._now_s = now_s
        self._wrong: OrderedDict[str, deque[float]] = OrderedDict()

    def wait_s(self, address: str) -> float:
        """How long this address is not listened to; 0 when it is."""
        times = self._wrong.get(address)
        if times is None or len(times) < self._most:
            return 0.0
        return max(0.0, times[0] + self._within_s - self._now_s())

    def wrong(self, address: str) -> None:
        """Take down a wrong guess."""
        times = self._wrong.setdefault(address, deque(maxlen=self._most))
        times.append(self._now_s())
        self._wrong.move_to_end(address)
        if len(self._wrong) > MAX_ADDRESSES:
            self._wrong.popitem(last=False)
