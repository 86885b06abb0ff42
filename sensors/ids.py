"""The names things go by: a sensor, the place it is worn, the move a golfer makes to fit it."""

from __future__ import annotations

from enum import StrEnum
from typing import NewType

SensorId = NewType("SensorId", str)
"""Stable name of one physical sensor: its radio address, or an invented name for a virtual one."""


class Role(StrEnum):
    """Where a sensor is worn. Further places are added here, nowhere else."""

    FOREARM = "forearm"
    """Back of the lead forearm, just above the wrist."""
    CLUB = "club"
    """Club grip, just below the hands."""


class Side(StrEnum):
    """The golfer's lead arm: left for a right-handed player."""

    LEFT = "left"
    RIGHT = "right"


class Move(StrEnum):
    """A named pose or motion that the golfer makes on request, so that the sensors can be fitted to the body.

    This step uses the four held poses; `docs/fit.md` says what each one fixes.
    """

    STILL = "still"
    """Both sensors at rest, untouched: gyroscope bias."""
    ARM_DOWN = "arm_down"
    """Lead arm hanging, wrist straight, club in hand: forearm long axis."""
    ARM_LEVEL = "arm_level"
    """Lead arm held out level, thumb up, wrist straight, same grip: roll of both sensors, wrist zero."""
    CLUB_HANG = "club_hang"
    """Club hanging head down from two fingers: shaft axis."""
