"""Turn about a body's own long axis, summed over time.

A swing-twist angle of the whole rotation since address jumps past half a turn and mixes in the swing's own curvature; the
sum of small twists about the moving axis does neither.
"""

from __future__ import annotations

from math import atan2

from fusion.rotation import Quat, Vec


class AxialTurn:
    """Sum of the twists about one axis fixed in the body, radians."""

    def __init__(self, axis_body: Vec, q_earth_from_body: Quat) -> None:
        """Count from this orientation."""
        self._axis = axis_body
        self._last = q_earth_from_body
        self.total_rad = 0.0

    def push(self, q_earth_from_body: Quat) -> float:
        """Advance to the next orientation."""
        # Written out, `twist(relative(last, now), axis)`: asked of every sample, twice.
        aw, ax, ay, az = self._last
        self._last = q_earth_from_body
        bw, bx, by, bz = q_earth_from_body
        x, y, z = self._axis
        w = aw * bw + ax * bx + ay * by + az * bz
        along = (
            (aw * bx - ax * bw - ay * bz + az * by) * x
            + (aw * by + ax * bz - ay * bw - az * bx) * y
            + (aw * bz - ax * by + ay * bx - az * bw) * z
        )
        self.total_rad += 2.0 * atan2(-along, -w) if w < 0 else 2.0 * atan2(along, w)
        return self.total_rad
