"""What a rest is, and which way is up in it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from fusion.orientation.quats import mean_of, rotated
from fusion.orientation.window import Array, Stretch
from fusion.rotation import Vec, rotate

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
    mean_rate_rad_s: Array
    """Raw, bias included."""
    rate_spread_rad_s: float
    """Root mean square of the rate about its mean."""
    up_free: Vec
    """Unit vector of the mean specific force in the sensor's free earth."""
    up_sensor: Vec
    """The same in sensor axes at the end of the rest."""
    force_m_s2: float


def rest_of(window: Stretch) -> Rest:
    """Measure a stretch as if it were a rest; the caller judges the spread and the force."""
    return _measured(window, *_rates(window.gyr_rad_s))


def calm_rest(window: Stretch, bias_rad_s: Array) -> Rest | None:
    """Measure a stretch if it is still enough for a zero on a standing body, and under no force but gravity.

    Most stretches are not: forces, which take the longest, are looked at last.
    """
    mean_rate, spread = _rates(window.gyr_rad_s)
    drift = mean_rate - bias_rad_s
    if spread > REST_RATE_RAD_S or float(drift @ drift) > REST_RATE_RAD_S**2:
        return None
    rest = _measured(window, mean_rate, spread)
    return rest if abs(rest.force_m_s2 - STANDARD_GRAVITY_M_S2) <= GRAVITY_TOLERANCE_M_S2 else None


def _rates(gyr_rad_s: Array) -> tuple[Array, float]:
    """Mean rate, shape (3,), and the root mean square about it."""
    mean_rate = mean_of(gyr_rad_s)
    off = gyr_rad_s - mean_rate
    return mean_rate, math.sqrt(float(np.einsum("ij,ij->", off, off)) / len(off))


def _measured(window: Stretch, mean_rate_rad_s: Array, spread_rad_s: float) -> Rest:
    q = window.q_free_from_sensor
    force = mean_of(rotated(q, window.acc_m_s2))
    size = math.sqrt(force.dot(force))
    x, y, z = (force / size).tolist()
    w, i, j, k = q[-1].tolist()
    return Rest(
        end_s=float(window.t_s[-1]),
        mean_rate_rad_s=mean_rate_rad_s,
        rate_spread_rad_s=spread_rad_s,
        up_free=(x, y, z),
        up_sensor=rotate((w, -i, -j, -k), (x, y, z)),
        force_m_s2=size,
    )
