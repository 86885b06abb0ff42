"""Pitchbend's open sensor profile, version 1: identifiers, packet layout, scales. `README.md` is its specification."""

from __future__ import annotations

import math
import struct
from typing import Final

import numpy as np
from numpy.typing import NDArray

from sensors.errors import DecodeError
from sensors.profiles.base import Profile, Unpacked, Worn

NAME: Final = "open-imu-1"

SERVICE_UUID: Final = "6b1d0001-94c7-4f0e-8a52-d3e7b95c2a60"
DATA_UUID: Final = "6b1d0002-94c7-4f0e-8a52-d3e7b95c2a60"
CONTROL_UUID: Final = "6b1d0003-94c7-4f0e-8a52-d3e7b95c2a60"

# Bluetooth SIG assigned numbers: Battery Service and Device Information Service.
BATTERY_LEVEL_UUID: Final = "00002a19-0000-1000-8000-00805f9b34fb"
BATTERY_SERVICE_UUID: Final = "0000180f-0000-1000-8000-00805f9b34fb"
DEVICE_INFORMATION_SERVICE_UUID: Final = "0000180a-0000-1000-8000-00805f9b34fb"
MANUFACTURER_UUID: Final = "00002a29-0000-1000-8000-00805f9b34fb"
MODEL_UUID: Final = "00002a24-0000-1000-8000-00805f9b34fb"
FIRMWARE_UUID: Final = "00002a26-0000-1000-8000-00805f9b34fb"

VERSION: Final = 1
RATE_HZ: Final = 200.0
SAMPLES_PER_PACKET: Final = 10
MAX_SAMPLES: Final = 19
"""19 samples are 236 bytes; 20 would pass the 244 that one notification holds at an ATT_MTU of 247."""
GYR_RANGE_DEG_S: Final = 2000.0
ACC_RANGE_G: Final = 16.0
STANDARD_GRAVITY_M_S2: Final = 9.80665
FULL_SCALE_COUNTS: Final = 32768

COMMAND_STOP: Final = b"\x00"
COMMAND_START: Final = b"\x01"
COMMAND_IDENTIFY: Final = b"\x02"

_HEADER = struct.Struct("<BBHI")
_SAMPLE_BYTES = 12


def pack(*, sequence: int, clock_us: int, counts: NDArray[np.int16]) -> bytes:
    """Build one notification from raw counts, shape (n, 6); `sequence` and `clock_us` are wrapped here."""
    header = _HEADER.pack(VERSION, len(counts), sequence % 2**16, clock_us % 2**32)
    return header + np.ascontiguousarray(counts, dtype="<i2").tobytes()


def unpack(payload: bytes) -> Unpacked:
    """Split one notification; raises `DecodeError` unless version, count and length agree."""
    if len(payload) < _HEADER.size:
        raise DecodeError(NAME, "shorter than its header", payload)
    version, count, sequence, clock_us = _HEADER.unpack_from(payload)
    if version != VERSION:
        raise DecodeError(NAME, f"packet version {version}, this program reads {VERSION}", payload)
    if not 1 <= count <= MAX_SAMPLES:
        raise DecodeError(NAME, f"{count} samples announced, 1 to {MAX_SAMPLES} allowed", payload)
    if len(payload) != _HEADER.size + count * _SAMPLE_BYTES:
        raise DecodeError(NAME, f"length does not fit its {count} samples", payload)
    counts = np.frombuffer(payload, dtype="<i2", offset=_HEADER.size).reshape(count, 6).astype(np.int16)
    return Unpacked(sequence=sequence, clock_us=clock_us, counts=counts)


OPEN_IMU: Final = Profile(
    name=NAME,
    service_uuid=SERVICE_UUID,
    data_uuid=DATA_UUID,
    control_uuid=CONTROL_UUID,
    start_command=COMMAND_START,
    stop_command=COMMAND_STOP,
    identify_command=COMMAND_IDENTIFY,
    nominal_rate_hz=RATE_HZ,
    sequence_modulus=2**16,
    clock_modulus_us=2**32,
    gyr_rad_s_per_count=math.radians(GYR_RANGE_DEG_S) / FULL_SCALE_COUNTS,
    acc_m_s2_per_count=ACC_RANGE_G * STANDARD_GRAVITY_M_S2 / FULL_SCALE_COUNTS,
    unpack=unpack,
    worn=Worn(up=(0.0, 1.0, 0.0), top=(0.0, 0.0, 1.0)),
)
