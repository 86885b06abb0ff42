"""The profiles this program knows, by name."""

from __future__ import annotations

from typing import Final

from sensors.errors import UnknownProfile
from sensors.profiles.base import AnyProfile, Profile
from sensors.profiles.float_imu import NAME as FLOAT_IMU_NAME
from sensors.profiles.float_imu import profile_of
from sensors.profiles.open_imu import OPEN_IMU

PROFILES: Final[dict[str, Profile]] = {OPEN_IMU.name: OPEN_IMU}
"""Kinds of radio sensor."""


def profile_named(name: str) -> AnyProfile:
    """Look a profile up; raises `UnknownProfile`. The float profile's name holds its rate: `float-imu-1@199.870`."""
    profile = PROFILES.get(name) or profile_of(name)
    if profile is None:
        raise UnknownProfile(name, (*PROFILES, FLOAT_IMU_NAME))
    return profile
