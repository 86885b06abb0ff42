"""Angular rate to orientation on time stamps, with the coning term.

Over one step the rate is taken as linear; the rotation vector is then
phi = (w0 + w1) dt / 2 + (w0 x w1) dt^2 / 12 (Bortz 1971 to second order; see Savage, "Strapdown inertial navigation
integration algorithm design part 1", J Guid Control Dyn 21(1), 1998; from memory). The accelerometer plays no part: within
a swing it measures the swing, not the vertical.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from math import cos, sin, sqrt

from fusion.rotation import IDENTITY, TINY_RAD, Quat, Vec, exp

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
        """Advance to one sample, as `run` does to many."""
        return self.run((device_s,), (rate_rad_s,), usual_s)[0]

    def run(self, device_s: Iterable[float], rates_rad_s: Iterable[Sequence[float]], usual_s: float) -> list[Quat]:
        """Advance by a block of samples (rates already free of bias) and give the orientation at each.

        `usual_s` is the sensor's own sample spacing. What `exp`, `mul` and `normalised` do is written out: calls double the time.
        """
        out: list[Quat] = []
        samples = zip(device_s, rates_rad_s, strict=True)
        if self._last is None:
            first_s, (ax, ay, az) = next(samples)
            self._last = (first_s, (ax, ay, az))
            out.append(self.q_free_from_sensor)
        w, x, y, z = self.q_free_from_sensor
        before_s, (ax, ay, az) = self._last
        longest_s = 1.5 * usual_s
        for now_s, (bx, by, bz) in samples:
            dt = now_s - before_s
            if dt > longest_s:
                # Between linear and the worst smooth course of the rate the turn differs by about a twelfth of its change.
                change = sqrt((bx - ax) ** 2 + (by - ay) ** 2 + (bz - az) ** 2)
                if dt > BRIDGE_S or change * dt / 12 > BRIDGE_ERROR_RAD:
                    self.n_breaks += 1
            half, twelfth = dt / 2, dt * dt / 12
            px = (ax + bx) * half + (ay * bz - az * by) * twelfth
            py = (ay + by) * half + (az * bx - ax * bz) * twelfth
            pz = (az + bz) * half + (ax * by - ay * bx) * twelfth
            angle = sqrt(px * px + py * py + pz * pz)
            if angle < TINY_RAD:
                ew, ex, ey, ez = exp((px, py, pz))
            else:
                half = angle / 2
                s = sin(half) / angle
                ew, ex, ey, ez = cos(half), s * px, s * py, s * pz
            w, x, y, z = (
                w * ew - x * ex - y * ey - z * ez,
                w * ex + x * ew + y * ez - z * ey,
                w * ey - x * ez + y * ew + z * ex,
                w * ez + x * ey - y * ex + z * ew,
            )
            n = sqrt(w * w + x * x + y * y + z * z)
            q = w, x, y, z = w / n, x / n, y / n, z / n
            out.append(q)
            before_s, ax, ay, az = now_s, bx, by, bz
        self.q_free_from_sensor, self._last = (w, x, y, z), (before_s, (ax, ay, az))
        return out
