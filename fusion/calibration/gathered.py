"""Samples of both sensors while a fit move is made, given out by time and never by packet."""

from __future__ import annotations

from collections import deque
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fusion.orientation.track import SensorTrack
from fusion.orientation.window import Window
from sensors.ids import PAIR, Role

Array = NDArray[np.float64]

KEPT_S: Final = 30.0
SILENT_S: Final = 0.4
"""A sensor that is silent for so long while the other reports is missing, and not waited for."""


class Gathered:
    """Of one move, begun at `start_s`: what was before is not in it."""

    def __init__(self, start_s: float) -> None:
        self._start_s = start_s
        self._parts: dict[Role, deque[Window]] = {role: deque() for role in PAIR}
        self._bias_rad_s: dict[Role, Array] = {}
        """As they were when the move began."""

    def push(self, role: Role, track: SensorTrack) -> None:
        """Take in the block that `track` was pushed last."""
        self._bias_rad_s.setdefault(role, track.bias.bias_rad_s)
        part = track.newest
        if part.t_s[-1] < self._start_s:
            return
        parts = self._parts[role]
        parts.append(part)
        while parts[-1].t_s[-1] - parts[0].t_s[0] > KEPT_S:
            parts.popleft()

    def of(self, role: Role) -> bool:
        """Anything came from a sensor."""
        return bool(self._parts[role])

    def reach_s(self, roles: tuple[Role, ...]) -> float:
        """Session time up to which all of `roles` have been heard, or one of them has been silent for too long."""
        newest = {role: parts[-1].t_s[-1] if parts else self._start_s for role, parts in self._parts.items()}
        return float(max(min(newest[role] for role in roles), max(newest.values()) - SILENT_S))

    def windows(
        self, roles: tuple[Role, ...], start_s: float, end_s: float, *, least_s: float
    ) -> dict[Role, Window] | None:
        """Samples between two times; None when a sensor's do not stretch over `least_s`."""
        windows = {}
        start_s = max(start_s, self._start_s)
        for role in roles:
            near = (part for part in self._parts[role] if part.t_s[-1] >= start_s and part.t_s[0] <= end_s)
            parts = [cut for part in near if len((cut := part.part(start_s, end_s)).t_s)]
            if not parts or parts[-1].t_s[-1] - parts[0].t_s[0] < least_s:
                return None
            windows[role] = Window.joined(parts)
        return windows

    def unbiased(self, role: Role, window: Window) -> Array:
        """Rates of a window less the bias, shape (n, 3), rad/s."""
        return window.gyr_rad_s - self._bias_rad_s[role]

    def speeds(self, role: Role, start_s: float, end_s: float) -> tuple[Array, Array]:
        """Times and sizes of the rate after `start_s` up to `end_s`, shapes (n,)."""
        found = self.windows((role,), start_s, end_s, least_s=0.0)
        if found is None:
            return np.empty(0), np.empty(0)
        window = found[role]
        new = window.t_s > start_s
        return window.t_s[new], np.linalg.norm(self.unbiased(role, window)[new], axis=1)
