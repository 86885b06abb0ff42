"""The names things go by: a sensor, the place it is worn, the move a golfer makes to fit it."""

from __future__ import annotations

from enum import StrEnum
from typing import Final, NewType

SensorId = NewType("SensorId", str)
"""Stable name of one physical sensor: its radio address, or an invented name for a virtual one."""


class Role(StrEnum):
    """Where a sensor is worn. Further places are added here, nowhere else."""

    FOREARM = "forearm"
    """Back of the lead forearm, just above the wrist."""
    CLUB = "club"
    """Club grip, just below the hands."""
    LEAD_UPPER_ARM = "lead_upper_arm"
    TRAIL_FOREARM = "trail_forearm"
    PELVIS = "pelvis"
    SPARE = "spare"
    """Worn nowhere (yet): it streams so that a person can tell it from the others."""


PAIR: Final = (Role.FOREARM, Role.CLUB)
"""The places that the angles are computed from. Sensors worn elsewhere are recorded, and followed by their health."""
WORN: Final = tuple(role for role in Role if role is not Role.SPARE)
"""The places a sensor can be given."""


class Side(StrEnum):
    """The golfer's lead arm: left for a right-handed player."""

    LEFT = "left"
    RIGHT = "right"


class Move(StrEnum):
    """A named pose or motion that the golfer makes on request, so that sensors can be calibrated and fitted to the body.

    `docs/fit.md` says what each one fixes and what it costs to leave it out.
    """

    STILL = "still"
    """Both sensors lie untouched: gyroscope bias."""
    ATTITUDE = "attitude"
    """Sensors held still in one of several different attitudes: accelerometer offset and scale, gyroscope scale."""
    NEUTRAL = "neutral"
    """Wrist straight, club in hand, held: the zero of bend and hinge."""
    BEND = "bend"
    """Lead wrist bowed and cupped a few times."""
    HINGE = "hinge"
    """Lead wrist set and uncocked a few times."""
    ROLL = "roll"
    """Forearm rolled both ways a few times, wrist held: the forearm's long axis."""
    TWIRL = "twirl"
    """Club spun in the fingers: the shaft."""
    LOCKED = "locked"
    """Wrist held, arm swung: how the sensors lie to each other, and whose clock is late."""
    PALM = "palm"
    """Palm flat on a table or thigh: roll of the forearm sensor about the forearm."""
    ADDRESS = "address"
    """Standing to the ball, still: which end of each axis points down, and the zero of the face."""
