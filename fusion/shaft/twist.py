"""Turn about a body's own long axis, summed over time.

A swing-twist angle of the whole rotation since address jumps past half a turn and mixes in the swing's own curvature; the
sum of small twists about the moving axis does neither.
"""

from __future__ import annotations

from fusion.rotation import IDENTITY, Quat, Vec, relative, twist


class AxialTurn:
    """Sum of the twists about one axis fixed in the body, radians."""

    def __init__(self, axis_body: Vec) -> None:
        self._axis = axis_body
        self._last: Quat = IDENTITY
        self.total_rad = 0.0

    def restart(self, q_earth_from_body: Quat) -> None:
        """Count from this orientation."""
        self._last = q_earth_from_body
        self.total_rad = 0.0

    def push(self, q_earth_from_body: Quat) -> float:
        """Advance to the next orientation."""
        self.total_rad += twist(relative(self._last, q_earth_from_body), self._axis)
        self._last = q_earth_from_body
        return self.total_rad
