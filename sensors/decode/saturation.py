"""Saturation in data without raw counts: a rate that is held at the end of a usual range.

One value near an end of range proves nothing, for a club passes through 500 deg/s in every swing. A clipped rate stands
still: the same value on the same axis in two samples running, and none beyond it before.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sensors.profiles.base import TimedProfile


class FullScaleWatch:
    """One sensor's rates, block by block; where the blocks are cut does not matter."""

    def __init__(self, profile: TimedProfile) -> None:
        self._scales_rad_s = np.array(profile.gyr_full_scales_rad_s)
        self._tolerance = profile.full_scale_tolerance
        self._last_rad_s = np.full((1, 3), np.nan)
        self._peak_rad_s = 0.0
        """Largest rate so far on any axis: an end of range that it has passed is none."""

    def push(self, gyr_rad_s: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Tell for each sample, shape (n, 3) in and (n,) out, whether it repeats one held at an end of range."""
        held = gyr_rad_s == np.vstack([self._last_rad_s, gyr_rad_s[:-1]])
        size = np.abs(gyr_rad_s)
        peaks = np.maximum(np.maximum.accumulate(size.max(axis=1)), self._peak_rad_s)
        self._last_rad_s, self._peak_rad_s = gyr_rad_s[-1:], float(peaks[-1])
        pinned = np.zeros(len(size), dtype=np.bool_)
        if not held.any():
            return pinned
        for scale_rad_s in self._scales_rad_s:
            margin = self._tolerance * scale_rad_s
            at_end = np.abs(size - scale_rad_s) <= margin
            pinned |= (held & at_end).any(axis=1) & (peaks <= scale_rad_s + margin)
        return pinned
