"""The heading between the two sensors' earths, carried from one address to the next.

At one address the two-axis wrist shows it to a few degrees: the hand takes the club a little turned, the wrist has play, skin
slides. Gyroscopes carry it over the minute between two swings to about a degree. A Kalman filter with two states, the heading
and how fast it drifts (the difference of two biases about the vertical), weighs the two; the sizes below are from simulation.
"""

from __future__ import annotations

import math
from typing import Final

MEASURED_SD_RAD: Final = math.radians(2.5)
"""Of one stance's heading from the wrist."""
STANCE_S: Final = 10.0
"""Measurements of one stance share their error: together they count once."""
TURN_SD_RAD_SQRT_S: Final = math.radians(0.10)
"""Growth of the heading's error by what the gyroscopes' scales make of a player who walks about, per root second."""
DRIFT_SD_RAD_S: Final = math.radians(0.1)
"""Of the drift at first, and what it may become at most."""
DRIFT_WALK_RAD_S_SQRT_S: Final = math.radians(0.002)
BELIEVED: Final = 4.0
"""A heading further off than this many standard deviations is a new one."""
BREAK_SD_RAD: Final = math.radians(90.0)
"""After samples were lost that cannot be bridged the heading is as good as unknown."""
SATURATED_SD_RAD: Final = math.radians(10.0)
"""What an impact beyond the gyroscope's range may do to it."""


class HeadingLink:
    """Turn of the club's level earth onto the forearm's, radians."""

    def __init__(self) -> None:
        self._at_s = -math.inf
        self._measured_s = -math.inf
        self._heading = 0.0
        self._drift = 0.0
        self._p = (BREAK_SD_RAD**2, 0.0, DRIFT_SD_RAD_S**2)
        """Variances: heading, heading with drift, drift."""
        self._n_breaks = 0

    @property
    def sd_rad(self) -> float:
        """One standard deviation of the heading when last told."""
        return math.sqrt(self._p[0])

    def start(self, t_s: float, heading_rad: float, sd_rad: float, n_breaks: int) -> None:
        """Begin anew from a heading that is known otherwise; `n_breaks` counts the holes in the data until then."""
        self._n_breaks = n_breaks
        self._at_s = t_s
        self._heading, self._drift = heading_rad, 0.0
        self._p = (sd_rad**2, 0.0, DRIFT_SD_RAD_S**2)

    def measure(self, t_s: float, heading_rad: float, *, n_breaks: int, saturated: bool) -> float:
        """Take in the wrist's heading at session time `t_s`; return the heading as it is believed now.

        `n_breaks` counts the holes in the data so far, `saturated` says whether a rate was out of range since the last time.
        """
        if n_breaks != self._n_breaks:
            self._n_breaks = n_breaks
            self._doubt(BREAK_SD_RAD)
        elif saturated:
            self._doubt(SATURATED_SD_RAD)
        self._advance(t_s)
        share = min(max((t_s - self._measured_s) / STANCE_S, 0.02), 1.0)
        self._measured_s = t_s
        a, b, c = self._p
        off = math.remainder(heading_rad - self._heading, math.tau)
        if off * off > BELIEVED**2 * (a + MEASURED_SD_RAD**2):
            # No drift does that: one of the earths was turned unseen, or the sensor slid. What is seen now is all there is.
            self.start(t_s, heading_rad, MEASURED_SD_RAD, n_breaks)
            return heading_rad
        total = a + MEASURED_SD_RAD**2 / share
        to_heading, to_drift = a / total, b / total
        self._heading += to_heading * off
        self._drift += to_drift * off
        self._p = (a - to_heading * a, b - to_heading * b, c - to_drift * b)
        return self._heading

    def _doubt(self, sd_rad: float) -> None:
        """Something happened that may have turned the one earth against the other."""
        a, b, c = self._p
        self._p = (min(a + sd_rad**2, BREAK_SD_RAD**2), b, c)

    def _advance(self, t_s: float) -> None:
        if math.isinf(self._at_s):
            self._at_s = t_s
        dt = max(t_s - self._at_s, 0.0)
        self._at_s = t_s
        a, b, c = self._p
        self._heading += self._drift * dt
        a += 2 * b * dt + c * dt * dt + TURN_SD_RAD_SQRT_S**2 * dt
        b += c * dt
        c = min(c + DRIFT_WALK_RAD_S_SQRT_S**2 * dt, DRIFT_SD_RAD_S**2)
        self._p = (min(a, BREAK_SD_RAD**2), b, c)
