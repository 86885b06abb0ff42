"""What a rest is, and which way is up in it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fusion.orientation.quats import rotated
from fusion.orientation.track import Window
from fusion.rotation import Vec

STANDARD_GRAVITY_M_S2 = 9.80665
ADDRESS_REST_S = 0.45
"""Length of a rest over the ball: long enough to average a sway, short enough for a golfer who does not wait."""
FIRST_REST_S = 0.3
"""Enough for a first zero; it is renewed from a longer rest if the golfer stays."""
RENEW_TICKS = 4
"""While the golfer stands, the zero is taken afresh every so many ticks: on the same ones however the standing began."""
REST_RATE_RAD_S = math.radians(8.0)
"""A rest may tremble and drift this fast: waggles are several times faster."""
MOST_TURN_RAD_S = 2 * REST_RATE_RAD_S
"""A sensor that is further from where it was than this rate gives is in no rest, whatever its bias."""
GRAVITY_TOLERANCE_M_S2 = 0.7
"""How far the mean specific force of a rest may be from one g: a sound accelerometer plus a swaying body."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """A rest of one sensor."""

    end_s: float
    mean_rate_rad_s: NDArray[np.float64]
    """Raw, bias included."""
    rate_spread_rad_s: float
    """Root mean square of the rate about its mean."""
    up_free: Vec
    """Unit vector of the mean specific force in the sensor's free earth."""
    up_sensor: Vec
    """The same in sensor axes at the end of the rest."""
    force_m_s2: float

    def calm(self, bias_rad_s: NDArray[np.float64]) -> bool:
        """Still enough for a zero on a standing body, and under no force but gravity."""
        drift = self.mean_rate_rad_s - bias_rad_s
        return (
            self.rate_spread_rad_s <= REST_RATE_RAD_S
            and float(drift @ drift) <= REST_RATE_RAD_S**2
            and abs(self.force_m_s2 - STANDARD_GRAVITY_M_S2) <= GRAVITY_TOLERANCE_M_S2
        )


def rest_of(window: Window) -> Rest:
    """Measure a stretch as if it were a rest; the caller judges the spread and the force."""
    mean_rate = window.gyr_rad_s.mean(axis=0)
    off = window.gyr_rad_s - mean_rate
    spread = math.sqrt(float(np.einsum("ij,ij->", off, off)) / len(off))
    q = window.q_free_from_sensor
    force = rotated(q, window.acc_m_s2).mean(axis=0)
    size = float(np.linalg.norm(force))
    up = force / size
    back = q[-1] * np.array([1.0, -1.0, -1.0, -1.0])
    up_sensor = rotated(back[None, :], up[None, :])[0]
    return Rest(
        end_s=float(window.t_s[-1]),
        mean_rate_rad_s=mean_rate,
        rate_spread_rad_s=spread,
        up_free=(float(up[0]), float(up[1]), float(up[2])),
        up_sensor=(float(up_sensor[0]), float(up_sensor[1]), float(up_sensor[2])),
        force_m_s2=size,
    )
