"""When the link was lost, why, and when it came back."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, replace
from typing import Final

from sensors.events import LinkReason, LinkState

KEPT: Final = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Drop:
    """One loss of the link, on the session clock."""

    at_s: float
    reason: LinkReason
    back_s: float | None
    """None as long as it is not back."""


class Drops:
    """Keeps the newest eight. Tries that fail while the link is down belong to the drop that began it."""

    def __init__(self) -> None:
        self.n_drops = 0
        self._drops: deque[Drop] = deque(maxlen=KEPT)

    def note(self, at_s: float, state: LinkState, reason: LinkReason) -> None:
        """Take in a change of the link."""
        is_down = bool(self._drops) and self._drops[-1].back_s is None
        if state is LinkState.LOST and not is_down:
            self.n_drops += 1
            self._drops.append(Drop(at_s=at_s, reason=reason, back_s=None))
        elif state is LinkState.STREAMING and is_down:
            self._drops.append(replace(self._drops.pop(), back_s=at_s))

    def newest(self) -> tuple[Drop, ...]:
        """Give them, oldest first."""
        return tuple(self._drops)
