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
class TimedSamples:
    """One payload whose samples carry their own time, in SI units."""

    device_s: NDArray[np.float64]
    """Device time of each sample, seconds, shape (n,), in the order of sending."""
    gyr_rad_s: NDArray[np.float64]
    """Shape (n, 3)."""
    acc_m_s2: NDArray[np.float64]
    """Shape (n, 3)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Worn:
    """How this kind of sensor is meant to sit, in its own axes. Any other way is measured as well."""

    up: tuple[float, float, float]
    """Toward the elbow, or the butt of the club."""
    top: tuple[float, float, float]
    """Away from the arm, out of the face of the case that is seen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """How one kind of radio sensor is found, started and read: packets of counts, one stamp each."""

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
    filter_delay_s: float = 0.0
    """How long after a motion the part's low-pass shows it; taken off a sample's time."""
    worn: Worn | None = None
    """How it is meant to sit, if its axes lie in its case in a way that is known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedProfile:
    """How data of any other origin is read: every sample has its time and stands in SI units."""

    name: str
    nominal_rate_hz: float
    """As measured when the data was taken over."""
    gyr_full_scales_rad_s: tuple[float, ...]
    """Ends of the ranges that gyroscopes usually have: a rate held at one of them is saturated."""
    full_scale_tolerance: float
    """How near to it, as a share of it."""
    unpack: Callable[[bytes], TimedSamples]
    """Pure; raises `DecodeError` when the payload is not of this profile."""
    filter_delay_s: float = 0.0
    """How long after a motion the part's low-pass shows it; taken off a sample's time."""
    worn: None = None
    """Of data from elsewhere nobody knows how the axes lie in a case."""


AnyProfile = Profile | TimedProfile
