"""What a consumer-grade inertial sensor makes of a motion: bias, noise, scale, cross-axis, clipping, rounding."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from sensors.profiles.base import Profile
from sensors.virtual.chain import GRAVITY_M_S2, Array


@dataclass(frozen=True, slots=True, kw_only=True)
class ImuFaults:
    """Errors of one sensor, each constant over a practice but for noise and wandering bias.

    Sizes drawn by `draw` are of the order that data sheets of six-axis consumer parts give after factory trim and one
    table calibration; from memory, no single source.
    """

    gyr_bias_rad_s: Array
    gyr_bias_walk_rad_s_sqrt_s: float
    gyr_noise_rad_s: float
    gyr_matrix: Array
    """Scale and cross-axis, shape (3, 3), near identity."""
    acc_bias_m_s2: Array
    acc_noise_m_s2: float
    acc_matrix: Array

    @staticmethod
    def draw(rng: np.random.Generator) -> ImuFaults:
        """Draw one sensor off the shelf."""
        return ImuFaults(
            gyr_bias_rad_s=np.radians(rng.normal(0.0, 0.5, 3)),
            gyr_bias_walk_rad_s_sqrt_s=float(np.radians(0.003)),
            gyr_noise_rad_s=float(np.radians(0.08)),
            gyr_matrix=np.eye(3) + rng.normal(0.0, 0.003, (3, 3)),
            acc_bias_m_s2=rng.normal(0.0, 0.008 * GRAVITY_M_S2, 3),
            acc_noise_m_s2=0.02,
            acc_matrix=np.eye(3) + rng.normal(0.0, 0.002, (3, 3)),
        )

    @staticmethod
    def none() -> ImuFaults:
        """Build a perfect sensor, but for rounding and range."""
        return ImuFaults(
            gyr_bias_rad_s=np.zeros(3), gyr_bias_walk_rad_s_sqrt_s=0.0, gyr_noise_rad_s=0.0, gyr_matrix=np.eye(3),
            acc_bias_m_s2=np.zeros(3), acc_noise_m_s2=0.0, acc_matrix=np.eye(3),
        )  # fmt: skip


def draw_mount(rng: np.random.Generator, tilt_deg: float = 6.0) -> Rotation:
    """Draw how a sensor sits on its segment: any turn about the segment's long (y) axis, and strapped a bit askew."""
    return Rotation.from_euler("y", rng.uniform(-180, 180), degrees=True) * Rotation.from_rotvec(
        np.radians(rng.normal(0.0, tilt_deg, 3))
    )


def counts(
    rate_rad_s: Array, force_m_s2: Array, faults: ImuFaults, profile: Profile, rng: np.random.Generator
) -> NDArray[np.int16]:
    """Raw counts, shape (n, 6), for what an ideal sensor would read, (n, 3) each, sampled at about the profile's rate."""
    n = len(rate_rad_s)
    walk = np.cumsum(
        rng.normal(0.0, faults.gyr_bias_walk_rad_s_sqrt_s / np.sqrt(profile.nominal_rate_hz), (n, 3)), axis=0
    )
    gyr = rate_rad_s @ faults.gyr_matrix.T + faults.gyr_bias_rad_s + walk
    gyr = gyr + rng.normal(0.0, faults.gyr_noise_rad_s, (n, 3))
    acc = force_m_s2 @ faults.acc_matrix.T + faults.acc_bias_m_s2
    acc = acc + rng.normal(0.0, faults.acc_noise_m_s2, (n, 3))
    raw = np.hstack([gyr / profile.gyr_rad_s_per_count, acc / profile.acc_m_s2_per_count])
    return np.clip(np.rint(raw), -32768, 32767).astype(np.int16)
