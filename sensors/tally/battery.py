"""Where a battery's level is going."""

from __future__ import annotations

from collections import deque
from typing import Final

_KEPT: Final = 128
_LEAST_S: Final = 600.0
"""A trend over less is the grain of the level, not the battery."""
_CHARGED_PCT: Final = 3
"""A rise of so much is a charge or another battery: what was before says nothing any more."""


class BatteryTrend:
    """Takes in each level, percent, on the session clock."""

    def __init__(self) -> None:
        self.level_pct: int | None = None
        self._changes: deque[tuple[float, int]] = deque(maxlen=_KEPT)

    def note(self, at_s: float, level_pct: int) -> None:
        """Take in a level."""
        if self.level_pct is not None and level_pct - self.level_pct >= _CHARGED_PCT:
            self._changes.clear()
        if level_pct != self.level_pct:
            self._changes.append((at_s, level_pct))
        self.level_pct = level_pct

    @property
    def pct_per_hour(self) -> float | None:
        """Percent gained an hour, negative when it drains; None until two changes lie ten minutes apart.

        The first level is left out where there are others: it was reached at an unknown time.
        """
        changes = list(self._changes)[1:] if len(self._changes) > 2 else list(self._changes)
        if len(changes) < 2 or changes[-1][0] - changes[0][0] < _LEAST_S:
            return None
        (start_s, start_pct), (end_s, end_pct) = changes[0], changes[-1]
        return (end_pct - start_pct) / (end_s - start_s) * 3600.0

    @property
    def hours_left(self) -> float | None:
        """Until it is empty at this rate; None when that is not known or it does not drain."""
        per_hour = self.pct_per_hour
        if per_hour is None or per_hour >= 0.0 or self.level_pct is None:
            return None
        return self.level_pct / -per_hour
