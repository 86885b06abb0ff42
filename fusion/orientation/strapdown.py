"""Angular rate to orientation on time stamps, with the coning term.

Over one step the rate is taken as linear; the rotation vector is then
phi = (w0 + w1) dt / 2 + (w0 x w1) dt^2 / 12 (Bortz 1971 to second order; see Savage, "Strapdown inertial navigation
integration algorithm design part 1", J Guid Control Dyn 21(1), 1998; from memory). The accelerometer plays no part: within
a swing it measures the swing, not the vertical.
"""

from __future__ import annotations

import math

from fusion.rotation import IDENTITY, Quat, Vec, exp, mul, normalised

BRIDGE_S = 0.13
"""Longest hole that may be bridged: two packets in a row at 200 Hz."""
BRIDGE_ERROR_RAD = math.radians(1.0)
"""Largest estimated error that a bridged hole may bring."""


class Strapdown:
    """Orientation of one sensor in an earth of its own, whose tilt and heading are whatever they were at the start."""

    def __init__(self) -> None:
        self.q_free_from_sensor: Quat = IDENTITY
        self.n_breaks = 0
        """How often a hole was too wide or too lively to bridge."""
        self._last: tuple[float, Vec] | None = None

    def restart(self) -> None:
        """Forget the last sample: the next one begins a new stretch at the present orientation."""
        self._last = None
        self.n_breaks += 1

    def push(self, device_s: float, rate_rad_s: Vec, usual_s: float) -> Quat:
        """Advance to a sample (rate already free of bias); `usual_s` is the sensor's own sample spacing."""
        last = self._last
        self._last = (device_s, rate_rad_s)
        if last is None:
            return self.q_free_from_sensor
        dt = device_s - last[0]
        ax, ay, az = last[1]
        bx, by, bz = rate_rad_s
        if dt > 1.5 * usual_s:
            # Between linear and the worst smooth course of the rate the turn differs by about a twelfth of its change.
            change = math.sqrt((bx - ax) ** 2 + (by - ay) ** 2 + (bz - az) ** 2)
            if dt > BRIDGE_S or change * dt / 12 > BRIDGE_ERROR_RAD:
                self.n_breaks += 1
        half, twelfth = dt / 2, dt * dt / 12
        phi = (
            (ax + bx) * half + (ay * bz - az * by) * twelfth,
            (ay + by) * half + (az * bx - ax * bz) * twelfth,
            (az + bz) * half + (ax * by - ay * bx) * twelfth,
        )
        self.q_free_from_sensor = normalised(mul(self.q_free_from_sensor, exp(phi)))
        return self.q_free_from_sensor
