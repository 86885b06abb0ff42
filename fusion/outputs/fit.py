"""What is said of the fit: how its moves went, what they found, and how the sensors sit."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from sensors.habit import Habit
from sensors.ids import Move, Role, SensorId
from sensors.trim import Trim


class FitState(StrEnum):
    """How a fit move went."""

    COLLECTING = "collecting"
    TAKEN = "taken"
    REJECTED = "rejected"


class FitReason(StrEnum):
    """Why a fit move was rejected."""

    NONE = "none"
    MOVING = "moving"
    """No second of stillness within the time allowed."""
    NO_DATA = "no_data"
    """One of the sensors did not report meanwhile."""
    NOT_GRAVITY = "not_gravity"
    """The accelerometer does not read one g at rest."""
    TOO_LITTLE = "too_little"
    """The move turned through too small an angle."""
    NOT_ONE_AXIS = "not_one_axis"
    """The turning was not about one axis."""
    SWAPPED = "swapped"
    """The other sensor moved: forearm and club sensor are exchanged."""
    DISAGREES = "disagrees"
    """The move contradicts those made before: a sensor or the clip has turned since, or the grip changed."""
    END_UNKNOWN = "end_unknown"
    """The moves do not show which end of the forearm sensor is toward the hand."""
    FEW_ATTITUDES = "few_attitudes"
    """Too few different attitudes to calibrate the sensor."""
    POOR_TRIM = "poor_trim"
    """The attitudes do not fit one calibration: a hold was not still, or the sensor is faulty."""
    UNLIKE_BEFORE = "unlike_before"
    """The move was taken, and the player is not as remembered: what is remembered is left out."""


class Constant(StrEnum):
    """What the fit finds."""

    FOREARM_AXIS = "forearm_axis"
    """The forearm's long axis in its sensor."""
    FOREARM_ROLL = "forearm_roll"
    """How the sensor is rolled about it."""
    BEND_AXIS = "bend_axis"
    """The wrist's axis of flexion, in the forearm's sensor."""
    HINGE_AXIS = "hinge_axis"
    """The wrist's axis of deviation, in the club's sensor."""
    SHAFT = "shaft"
    """Butt to head in the club's sensor."""
    CLIP_ROLL = "clip_roll"
    """How the club's sensor is rolled about the shaft against the face as it stood at address."""
    HAND_CLUB = "hand_club"
    """The hand's axes in the club's sensor: the grip."""


class ArmSide(StrEnum):
    """A side of the lead forearm above the wrist."""

    BACK = "back"
    THUMB = "thumb"
    PALM = "palm"
    LITTLE_FINGER = "little_finger"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mounting:
    """How a sensor was found to sit."""

    role: Role
    axis: str
    """The sensor's axis that runs along the segment, with the sign of its end toward elbow or butt: `+y`."""
    off_rad: float
    """How far that axis is off the segment's."""
    upside_down: bool | None
    """Against how this kind of sensor is meant to be worn; None when its kind has no such way."""
    side: ArmSide | None = None
    """Where its top looks, of a forearm sensor that has one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FitReport:
    """How good a fit is."""

    sd_rad: dict[Constant, float]
    """One standard deviation of the direction, or the angle, of each constant; what the moves do not show at all is missing."""
    mountings: tuple[Mounting, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FitProgress:
    """News of a fit move. `measured` and `limit` share a unit that the reason implies (deg/s, degrees, or m/s2)."""

    arrival_ns: int
    move: Move
    state: FitState
    reason: FitReason = FitReason.NONE
    measured: float | None = None
    limit: float | None = None
    complete: bool = False
    """Enough moves are in: angles can be computed."""
    report: FitReport | None = None
    """Of the fit in force, if there is one."""


class TurnKind(StrEnum):
    """How a sensor sits otherwise than at the fit."""

    ROLLED = "rolled"
    """Turned about the arm, or about the shaft."""
    REVERSED = "reversed"
    """End for end: upside down."""
    BACK = "back"
    """It sits again as it did."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorTurned:
    """A sensor has turned on its segment since the fit, or is back where it was."""

    arrival_ns: int
    t_s: float
    """When it was seen: in the swing that made it certain."""
    role: Role
    kind: TurnKind
    by_rad: float
    """About the segment's axis, right-handed about elbow to wrist, or butt to head; pi when reversed, 0 when back."""
    n_swings: int
    """How many swings in a row it is read from; 0 when back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimFound:
    """A sensor has been calibrated: to be stored with it."""

    arrival_ns: int
    sensor: SensorId
    trim: Trim


@dataclass(frozen=True, slots=True, kw_only=True)
class HabitFound:
    """What a fit with all moves shows of the player: to be remembered."""

    arrival_ns: int
    player: str
    forearm: SensorId
    club: SensorId
    habit: Habit
