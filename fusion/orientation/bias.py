"""Gyroscope bias as a scalar Kalman filter per axis, fed by rests.

A standing body sways: the mean rate of one rest is not the bias but a measurement of it with a spread of some tenths of a
degree a second, and taking it plainly is worse than not taking it.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

WALK_RAD_S_SQRT_S = math.radians(0.003)
"""How fast the bias wanders, per root second. Typical for consumer parts; set in simulation, no source."""
INITIAL_RAD_S = math.radians(1.0)
"""Bias of an untouched sensor, standard deviation; consumer data sheets give 0.5 to 3 deg/s, from memory."""
BODY_REST_RAD_S = math.radians(0.4)
"""Spread of the mean rate over a rest on a standing body."""
TABLE_REST_RAD_S = math.radians(0.02)
"""The same lying still: noise of a second's mean."""


BELIEVED = 1.5
"""A mean rate further off than this many standard deviations was motion."""


class BiasFilter:
    """Running bias estimate of one sensor."""

    def __init__(self, sd_rad_s: float = INITIAL_RAD_S) -> None:
        self.bias_rad_s: NDArray[np.float64] = np.zeros(3)
        self._variance = sd_rad_s**2
        self._at_s: float | None = None

    @property
    def sd_rad_s(self) -> float:
        """One standard deviation of each axis when last fed."""
        return math.sqrt(self._variance)

    def rest(self, t_s: float, mean_rate_rad_s: NDArray[np.float64], spread_rad_s: float) -> bool:
        """Take in the raw mean rate of a rest that ended at `t_s`, shape (3,); False if it was not believed.

        A body that settles or starts turns the same way every time: such a rate, unlike sway, does not average out.
        """
        off = mean_rate_rad_s - self.bias_rad_s
        if float(off @ off) > BELIEVED**2 * 3 * (self._variance + spread_rad_s**2):
            return False
        if self._at_s is not None:
            self._variance += WALK_RAD_S_SQRT_S**2 * max(t_s - self._at_s, 0.0)
        self._at_s = t_s
        gain = self._variance / (self._variance + spread_rad_s**2)
        self.bias_rad_s = self.bias_rad_s + gain * (mean_rate_rad_s - self.bias_rad_s)
        self._variance *= 1.0 - gain
        return True
