"""What a device profile must know."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Unpacked:
    """One payload in its own terms: raw counts, wrapped counters."""

    sequence: int
    clock_us: int
    """Device clock at the packet's **last** sample, microseconds, wrapped."""
    counts: NDArray[np.int16]
    """Raw counts, shape (n, 6): gyroscope x y z, accelerometer x y z."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """How one kind of sensor is found, started and read."""

    name: str
    service_uuid: str
    data_uuid: str
    control_uuid: str
    start_command: bytes
    stop_command: bytes
    identify_command: bytes
    nominal_rate_hz: float
    sequence_modulus: int
    clock_modulus_us: int
    gyr_rad_s_per_count: float
    acc_m_s2_per_count: float
    unpack: Callable[[bytes], Unpacked]
    """Pure; raises `DecodeError` when the payload is not of this profile."""
