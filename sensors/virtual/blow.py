"""What a blow against ball or ground does to the sensors: some milliseconds of shaking, and a jolt of the club.

Added to what an ideal sensor would read, not to the motion: the shaking is far faster than anything the body does. Sizes are
plausible, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from sensors.ids import Role
from sensors.virtual.chain import Array


@dataclass(frozen=True, slots=True)
class _Size:
    """How strongly one sensor is shaken."""

    force_m_s2: tuple[float, float]
    jolt_rad_s: tuple[float, float]


_SIZES: Final = {
    Role.FOREARM: _Size((45.0, 130.0), (0.2, 0.6)),
    Role.CLUB: _Size((120.0, 320.0), (1.5, 4.0)),
}
_FREQUENCY_HZ: Final = (55.0, 120.0)
_DECAY_S: Final = (0.006, 0.012)
_LASTS_S: Final = 0.08


def shaking(t_s: Array, blows_s: Sequence[float], role: Role, rng: np.random.Generator) -> tuple[Array, Array]:
    """Rate (rad/s) and specific force (m/s2) that blows add, each of shape (n, 3), at sample times `t_s`."""
    rate, force = np.zeros((len(t_s), 3)), np.zeros((len(t_s), 3))
    size = _SIZES[role]
    for at_s in blows_s:
        part = slice(*np.searchsorted(t_s, [at_s, at_s + _LASTS_S]))
        since_s = t_s[part] - at_s
        fades = np.exp(-since_s / rng.uniform(*_DECAY_S))
        wave = np.cos(2 * np.pi * rng.uniform(*_FREQUENCY_HZ) * since_s)
        force[part] += rng.uniform(*size.force_m_s2) * (fades * wave)[:, None] * _direction(rng)
        rate[part] += rng.uniform(*size.jolt_rad_s) * fades[:, None] * _direction(rng)
    return rate, force


def _direction(rng: np.random.Generator) -> Array:
    v = rng.normal(size=3)
    return np.asarray(v / np.linalg.norm(v))
