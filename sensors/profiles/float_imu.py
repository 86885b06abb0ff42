"""The float profile, version 1: samples of any origin, each with its own device time. `README.md` is its specification."""

from __future__ import annotations

import math
import re
import struct
from typing import Final

import numpy as np
from numpy.typing import NDArray

from sensors.errors import DecodeError
from sensors.profiles.base import TimedProfile, TimedSamples

NAME: Final = "float-imu-1"
VERSION: Final = 1
MAX_SAMPLES: Final = 64
LARGEST: Final = 1e12
"""Far beyond any clock or motion: larger is no measurement."""

GYR_FULL_SCALES_RAD_S: Final = tuple(math.radians(scale_deg_s) for scale_deg_s in (250.0, 500.0, 1000.0, 2000.0))
"""The ranges of common MEMS gyroscopes; common practice, no source."""
FULL_SCALE_TOLERANCE: Final = 0.001

FILTER_DELAY_S: Final = 0.0027
"""Of a gyroscope's low-pass at about 90 Hz, as consumer parts are set for 200 samples a second; typical, from memory."""

_HEADER = struct.Struct("<BB6x")
_SAMPLE = np.dtype([("device_s", "<f8"), ("gyr_rad_s", "<f4", 3), ("acc_m_s2", "<f4", 3)])
_NAME_WITH_RATE = re.compile(re.escape(NAME) + r"@([0-9]{1,5}\.[0-9]{3})")


def name_with_rate(rate_hz: float) -> str:
    """Name the profile of data at this rate, e.g. `float-imu-1@199.870`."""
    return f"{NAME}@{rate_hz:.3f}"


def profile_of(name: str) -> TimedProfile | None:
    """Give the profile that `name_with_rate` named; None for any other name."""
    match = _NAME_WITH_RATE.fullmatch(name)
    if match is None or float(match[1]) == 0.0:
        return None
    return TimedProfile(
        name=name,
        nominal_rate_hz=float(match[1]),
        gyr_full_scales_rad_s=GYR_FULL_SCALES_RAD_S,
        full_scale_tolerance=FULL_SCALE_TOLERANCE,
        unpack=unpack,
        filter_delay_s=FILTER_DELAY_S,
    )


def pack(*, device_s: NDArray[np.float64], gyr_rad_s: NDArray[np.float64], acc_m_s2: NDArray[np.float64]) -> bytes:
    """Build one packet; shapes (n,), (n, 3), (n, 3) with n of 1 to `MAX_SAMPLES`."""
    samples = np.empty(len(device_s), dtype=_SAMPLE)
    samples["device_s"] = device_s
    samples["gyr_rad_s"] = gyr_rad_s
    samples["acc_m_s2"] = acc_m_s2
    return _HEADER.pack(VERSION, len(samples)) + samples.tobytes()


def unpack(payload: bytes) -> TimedSamples:
    """Split one packet; raises `DecodeError` unless version, count and length agree and every value is a number that can be."""
    if len(payload) < _HEADER.size:
        raise DecodeError(NAME, "shorter than its header", payload)
    version, count = _HEADER.unpack_from(payload)
    if version != VERSION:
        raise DecodeError(NAME, f"packet version {version}, this program reads {VERSION}", payload)
    if not 1 <= count <= MAX_SAMPLES:
        raise DecodeError(NAME, f"{count} samples announced, 1 to {MAX_SAMPLES} allowed", payload)
    if len(payload) != _HEADER.size + count * _SAMPLE.itemsize:
        raise DecodeError(NAME, f"length does not fit its {count} samples", payload)
    samples = np.frombuffer(payload, dtype=_SAMPLE, offset=_HEADER.size)
    unpacked = TimedSamples(
        device_s=samples["device_s"].astype(np.float64),
        gyr_rad_s=samples["gyr_rad_s"].astype(np.float64),
        acc_m_s2=samples["acc_m_s2"].astype(np.float64),
    )
    for values in (unpacked.device_s, unpacked.gyr_rad_s, unpacked.acc_m_s2):
        if not (np.abs(values) <= LARGEST).all():  # nan is not below it either
            raise DecodeError(NAME, "a value is not a finite number, or far beyond any clock or motion", payload)
    return unpacked
