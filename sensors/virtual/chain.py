"""Forward kinematics of a chain of hinges, vectorised over time, with exact first and second derivatives.

Everything is expressed in the earth frame (z up). One hinge adds `a qd` to the angular velocity and
`w x a qd + a qdd` to the angular acceleration (the outward recursion of rigid-body dynamics, e.g. Featherstone,
"Rigid Body Dynamics Algorithms", 2008, ch. 5; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

Array = NDArray[np.float64]
GRAVITY_M_S2 = 9.80665


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """A rigid segment over n instants: pose of its frame in the earth and its derivatives."""

    R: Array
    """Earth from segment, shape (n, 3, 3)."""
    omega_rad_s: Array
    alpha_rad_s2: Array
    p_m: Array
    v_m_s: Array
    a_m_s2: Array

    @staticmethod
    def fixed(n: int) -> Motion:
        """Build the earth itself, n times."""
        zero = np.zeros((n, 3))
        eye = np.broadcast_to(np.eye(3), (n, 3, 3)).copy()
        return Motion(R=eye, omega_rad_s=zero, alpha_rad_s2=zero, p_m=zero, v_m_s=zero, a_m_s2=zero)

    def hinge(self, axis: str, q: Array, qd: Array, qdd: Array) -> Motion:
        """Turn about own axis 'x', 'y' or 'z' by q (radians) with its two derivatives, each of shape (n,)."""
        a = self.R[:, :, "xyz".index(axis)]
        turn = Rotation.from_euler(axis, q[:, None]).as_matrix()
        return replace(
            self,
            R=self.R @ turn,
            omega_rad_s=self.omega_rad_s + a * qd[:, None],
            alpha_rad_s2=self.alpha_rad_s2 + np.cross(self.omega_rad_s, a * qd[:, None]) + a * qdd[:, None],
        )

    def turned(self, fixed: Rotation) -> Motion:
        """Re-express in axes fixed to the segment."""
        return replace(self, R=self.R @ fixed.as_matrix())

    def offset(self, r_m: tuple[float, float, float]) -> Motion:
        """Move to a point fixed in the segment, coordinates in its frame, metres."""
        r = self.R @ np.asarray(r_m, dtype=np.float64)
        w = self.omega_rad_s
        return replace(
            self,
            p_m=self.p_m + r,
            v_m_s=self.v_m_s + np.cross(w, r),
            a_m_s2=self.a_m_s2 + np.cross(self.alpha_rad_s2, r) + np.cross(w, np.cross(w, r)),
        )

    def shifted(self, p: Array, v: Array, a: Array) -> Motion:
        """Add a translation given in the earth frame, each of shape (n, 3)."""
        return replace(self, p_m=self.p_m + p, v_m_s=self.v_m_s + v, a_m_s2=self.a_m_s2 + a)

    def at_point_of(self, other: Motion) -> Motion:
        """Keep own orientation, take another's point."""
        return replace(self, p_m=other.p_m, v_m_s=other.v_m_s, a_m_s2=other.a_m_s2)

    def mirrored(self) -> Motion:
        """Reflect left to right (x to -x); own z axis is flipped, so that the frame stays right-handed.

        Under a reflection M a polar vector goes to Mv and an axial one to -Mv; flipping z keeps the anatomical axes'
        meaning (X volar, Y proximal, Z to the body's right) on the other arm.
        """
        m = np.array([-1.0, 1.0, 1.0])
        flip_z = np.array([1.0, 1.0, -1.0])
        return Motion(
            R=m[:, None] * self.R * flip_z,
            omega_rad_s=-m * self.omega_rad_s,
            alpha_rad_s2=-m * self.alpha_rad_s2,
            p_m=m * self.p_m,
            v_m_s=m * self.v_m_s,
            a_m_s2=m * self.a_m_s2,
        )

    def body_rate_rad_s(self) -> Array:
        """Angular rate in own axes, shape (n, 3): what an ideal gyroscope reads."""
        return np.asarray(np.einsum("nji,nj->ni", self.R, self.omega_rad_s))

    def specific_force_m_s2(self) -> Array:
        """Specific force in own axes, shape (n, 3): what an ideal accelerometer reads."""
        return np.asarray(np.einsum("nji,nj->ni", self.R, self.a_m_s2 + np.array([0.0, 0.0, GRAVITY_M_S2])))
