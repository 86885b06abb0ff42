"""The first step of every decoder: from a notification to raw numbers, or to what is wrong with it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sensors.decode.split import Assembler
from sensors.errors import DecodeError
from sensors.events import RawPacket
from sensors.profiles.base import Profile
from sensors.profiles.layout import Unpacked
from sensors.readings import Malformed, Reading


class Intake:
    """One sensor's notifications. `push` gives what is malformed and, once a message is whole, its raw numbers."""

    def __init__(self, profile: Profile) -> None:
        self._unpack = profile.layout.unpack
        self._ignored = profile.ignored
        self._assembler = Assembler(profile, profile.split) if profile.split is not None else None

    def push(self, packet: RawPacket) -> tuple[tuple[Malformed, ...], Unpacked | None]:
        """Take in one notification; one that holds no samples by design gives neither."""
        payload = packet.payload
        if self._ignored and payload.startswith(self._ignored):
            return (), None
        if self._assembler is None:
            try:
                return (), self._unpack(payload)
            except DecodeError as error:
                return (_malformed(packet, error.problem),), None
        problem = ""
        try:
            message, problem = self._assembler.push(payload, packet.arrival_ns)
            unpacked = None if message is None else self._unpack(message)
        except DecodeError as error:
            broken = (problem, error.problem)
            return tuple(_malformed(packet, one) for one in broken if one), None
        return (_malformed(packet, problem),) if problem else (), unpacked


def _malformed(packet: RawPacket, problem: str) -> Malformed:
    return Malformed(arrival_ns=packet.arrival_ns, sensor=packet.sensor, problem=problem)


def reading(profile: Profile, packet: RawPacket, unpacked: Unpacked, device_s: NDArray[np.float64]) -> Reading:
    """Make a reading of raw numbers and the device time of each."""
    gyr_rad_s = profile.gyr.si(unpacked.gyr)
    return Reading(
        arrival_ns=packet.arrival_ns,
        sensor=packet.sensor,
        device_s=device_s,
        gyr_sensor_rad_s=gyr_rad_s,
        acc_sensor_m_s2=profile.acc.si(unpacked.acc),
        saturated=profile.gyr.saturated(unpacked.gyr, gyr_rad_s),
    )
