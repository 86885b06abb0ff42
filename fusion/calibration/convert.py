"""Small pieces of numpy and scipy: to the plain tuples of `fusion/rotation.py`, and square axes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from fusion.rotation import Quat, Vec


def quat_of(rotation: Rotation) -> Quat:
    """Scipy keeps the scalar last by default; here it is first."""
    w, x, y, z = rotation.as_quat(scalar_first=True).tolist()
    return (w, x, y, z)


def vec_of(v: NDArray[np.float64]) -> Vec:
    """Vector of shape (3,)."""
    return (float(v[0]), float(v[1]), float(v[2]))


def square_to(axis: NDArray[np.float64]) -> NDArray[np.float64]:
    """Two unit vectors square to a unit axis and to each other, as columns, shape (3, 2)."""
    first = np.cross(axis, np.eye(3)[int(np.argmin(np.abs(axis)))])
    first /= np.linalg.norm(first)
    return np.stack([first, np.cross(axis, first)], axis=1)
