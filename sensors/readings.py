"""What decoding gives: blocks of samples in SI units, and the gaps between them.

Those that every packet brings are named tuples, which are made three times as fast as dataclasses; name what is given.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sensors.ids import SensorId


class Reading(NamedTuple):
    """The samples of one packet, still on the device's own clock, in the sensor's own axes."""

    arrival_ns: int
    sensor: SensorId
    device_s: NDArray[np.float64]
    """Device time of each sample, seconds, unwrapped, shape (n,)."""
    gyr_sensor_rad_s: NDArray[np.float64]
    """Angular rate, shape (n, 3)."""
    acc_sensor_m_s2: NDArray[np.float64]
    """Specific force, shape (n, 3); reads +9.81 upward at rest."""
    saturated: bool
    """Some raw value stood at the end of its range: the true motion was faster than the sensor can say."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """Samples that never came.

    `restarted` means that the device began anew: its clock and counter are unrelated to those before.
    """

    arrival_ns: int
    sensor: SensorId
    n_lost: int
    restarted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Malformed:
    """A payload that did not fit the profile: dropped and counted."""

    arrival_ns: int
    sensor: SensorId
    problem: str


class ImuBlock(NamedTuple):
    """The samples of one packet on the session clock."""

    arrival_ns: int
    sensor: SensorId
    t_s: NDArray[np.float64]
    """Session time of each sample, shape (n,); increasing."""
    device_s: NDArray[np.float64]
    """Device time of each sample, shape (n,): integrate over its differences, no clock fit disturbs them."""
    gyr_sensor_rad_s: NDArray[np.float64]
    acc_sensor_m_s2: NDArray[np.float64]
    saturated: bool
