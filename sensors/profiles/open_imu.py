"""The open sensor profile as virtual sensors and tests need it.

`open-imu-1.toml` is the profile, `README.md` its specification.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from sensors.profiles.assigned import (
    BATTERY_LEVEL_UUID,
    BATTERY_SERVICE_UUID,
    DEVICE_INFORMATION_SERVICE_UUID,
    FIRMWARE_UUID,
    MANUFACTURER_UUID,
    MODEL_UUID,
)
from sensors.profiles.registry import PROFILES

__all__ = [
    "ACC_RANGE_G", "BATTERY_LEVEL_UUID", "BATTERY_SERVICE_UUID", "COMMAND_IDENTIFY", "COMMAND_START", "COMMAND_STOP",
    "CONTROL_UUID", "DATA_UUID", "DEVICE_INFORMATION_SERVICE_UUID", "FIRMWARE_UUID", "GYR_RANGE_DEG_S", "MANUFACTURER_UUID",
    "MAX_SAMPLES", "MODEL_UUID", "NAME", "OPEN_IMU", "RATE_HZ", "SAMPLES_PER_PACKET", "SERVICE_UUID", "VERSION", "OpenPacket",
    "pack", "unpack",
]  # fmt: skip

NAME: Final = "open-imu-1"
OPEN_IMU: Final = PROFILES[NAME]

SERVICE_UUID: Final = OPEN_IMU.service_uuid
DATA_UUID: Final = OPEN_IMU.data_uuid
CONTROL_UUID: Final = OPEN_IMU.commands.start[0].characteristic_uuid

VERSION: Final = 1
RATE_HZ: Final = OPEN_IMU.nominal_rate_hz
GYR_RANGE_DEG_S: Final = OPEN_IMU.settings.gyr_range_deg_s
ACC_RANGE_G: Final = OPEN_IMU.settings.acc_range_g
SAMPLES_PER_PACKET: Final = 10
MAX_SAMPLES: Final = OPEN_IMU.layout.most_samples

COMMAND_STOP: Final = b"\x00"
COMMAND_START: Final = b"\x01"
COMMAND_IDENTIFY: Final = b"\x02"

_HEADER = struct.Struct("<BBHI")


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenPacket:
    """One notification in its own terms: raw counts, wrapped counters."""

    sequence: int
    clock_us: int
    """Device clock at the packet's last sample, microseconds, wrapped."""
    counts: NDArray[np.int16]
    """Shape (n, 6): gyroscope x y z, accelerometer x y z."""


def pack(*, sequence: int, clock_us: int, counts: NDArray[np.int16]) -> bytes:
    """Build one notification from raw counts, shape (n, 6); `sequence` and `clock_us` are wrapped here."""
    header = _HEADER.pack(VERSION, len(counts), sequence % 2**16, clock_us % 2**32)
    return header + np.ascontiguousarray(counts, dtype="<i2").tobytes()


def unpack(payload: bytes) -> OpenPacket:
    """Split one notification by the profile; raises `DecodeError` unless version, count and length agree."""
    unpacked = OPEN_IMU.unpack(payload)
    assert unpacked.sequence is not None  # noqa: S101  # for the type checker: the profile has both
    assert unpacked.clock is not None  # noqa: S101
    counts = np.hstack([unpacked.gyr, unpacked.acc]).astype(np.int16)
    return OpenPacket(sequence=unpacked.sequence, clock_us=unpacked.clock, counts=counts)
