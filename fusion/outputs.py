"""What the pipeline says: one readout per packet, and the events of a practice. Radians, seconds, session clock.

A value that cannot be trusted is None, and the readout's `doubt` says why; it is never a plausible figure.

What is said of every instant or packet is a named tuple, which is made three times as fast as a dataclass; name what is given.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from fusion.drills.quantity import Quantity
from fusion.rotation import Quat
from fusion.shaft.butt_line import ButtLine
from sensors.habit import Habit
from sensors.ids import Move, Role, SensorId
from sensors.trim import Trim


class Phase(StrEnum):
    """Where in the swing the golfer is; `fusion/swing/phases.py` holds the table of what follows what."""

    IDLE = "idle"
    """Not standing to the ball: walking, waiting, regripping."""
    ADDRESS = "address"
    """At rest over the ball; the zero of this swing is being taken."""
    TAKEAWAY = "takeaway"
    SHAFT_LEVEL = "shaft_level"
    """Past the shaft lying level for the first time."""
    ARM_LEVEL = "arm_level"
    """Past the lead arm lying level."""
    TOP = "top"
    DOWNSWING = "downswing"
    IMPACT = "impact"
    FINISH = "finish"


class Doubt(StrEnum):
    """Why angles are absent; advice is looked up by this."""

    NONE = "none"
    NOT_FITTED = "not_fitted"
    """The fit moves have not been made in this practice."""
    NO_ADDRESS = "no_address"
    """No rest over the ball yet, so this swing has no zero."""
    SENSOR_MISSING = "sensor_missing"
    GAP = "gap"
    """Samples were lost since the last rest: integration cannot bridge it."""
    SATURATED = "saturated"
    """The motion outran the sensor's range since the last rest."""
    OUT_OF_RANGE = "out_of_range"
    """A wrist angle outside what a wrist can do: the fit or the grip no longer holds."""
    SENSOR_TURNED = "sensor_turned"
    """A sensor sits otherwise than at the fit, so much that no swing gets a zero."""
    FORESHORTENED = "foreshortened"
    """Shaft pitch only: the shaft points along the line of view."""


class Angles(NamedTuple):
    """The quantities at one instant. `shared/glossary.md` defines each; signs as in `docs/conventions.md`."""

    bend_rad: float | None = None
    """Lead-wrist flexion (+, bowed) or extension (-, cupped) from the straight wrist of the fit."""
    bend_change_rad: float | None = None
    """The same since this swing's address: the value to coach by, free of the fit pose's own error."""
    hinge_rad: float | None = None
    """Ulnar (+) or radial (-) deviation from the straight wrist."""
    hinge_change_rad: float | None = None
    roll_change_rad: float | None = None
    """Forearm roll about its own long axis since address, pronation sense +."""
    shaft_elevation_rad: float | None = None
    """Shaft, butt to head, to the horizontal; negative with the head below the butt."""
    shaft_pitch_rad: float | None = None
    """Shaft line in the vertical plane of the address shaft; pi/2 = upright (steep), smaller = flatter."""
    arm_elevation_rad: float | None = None
    """Forearm, elbow to wrist, to the horizontal; negative with the wrist below the elbow."""
    face_twist_rad: float | None = None
    """Turn about the shaft since address, + shut, - open."""
    butt_line_m: float | None = None
    """Where the shaft line, carried past the butt, meets the ground: distance from the ball line, + inside (toward the
    player), - outside. A model estimate."""


NO_ANGLES = Angles()


class Spread(NamedTuple):
    """One standard deviation of each quantity at an instant; None where the quantity is absent."""

    bend_rad: float | None = None
    bend_change_rad: float | None = None
    hinge_rad: float | None = None
    hinge_change_rad: float | None = None
    roll_change_rad: float | None = None
    shaft_elevation_rad: float | None = None
    shaft_pitch_rad: float | None = None
    face_twist_rad: float | None = None
    butt_line_m: float | None = None


NO_SPREAD = Spread()


class Readout(NamedTuple):
    """The newest instant for which both sensors have reported."""

    arrival_ns: int
    """Host arrival of the packet that completed it."""
    t_s: float
    phase: Phase
    angles: Angles
    doubt: Doubt
    pitch_doubt: Doubt
    since_rest_s: float | None
    """Age of the last rest at address; the angles' error grows with it."""
    error_rad: float = 0.0
    """How far the drill's quantity is outside its band, negative below; 0 inside it or outside the drill's phases."""
    cue_error_rad: float = 0.0
    """The error that the cue sounds: what is about to be, when it is begun early."""
    spread: Spread = NO_SPREAD


class Pose(NamedTuple):
    """Where the segments lie at an instant; `fusion/pose.py` has the axes."""

    q_earth_from_forearm: Quat
    q_earth_from_hand: Quat
    q_earth_from_club: Quat
    butt: ButtLine | None = None
    """The swing's own: where its address puts hub, hands and ball line."""


class Moment(NamedTuple):
    """One instant of a series: what `Readout` says once a packet, for every sample."""

    t_s: float
    phase: Phase
    angles: Angles
    spread: Spread
    doubt: Doubt
    pose: Pose | None = None
    """Within a swing, while nothing is in doubt."""


class Series(NamedTuple):
    """All instants that a packet completed, in order; only made when asked for."""

    arrival_ns: int
    moments: tuple[Moment, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseChange:
    """A phase began at `t_s` (the sample's time; it is announced a little later)."""

    arrival_ns: int
    t_s: float
    phase: Phase


class Verdict(StrEnum):
    """How a rep stood to its drill."""

    IN_BAND = "in_band"
    BELOW = "below"
    """Left the band on its low side (for bend: cupped too far)."""
    ABOVE = "above"
    UNKNOWN = "unknown"
    """The angle could not be trusted during the drill's phases."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Checkpoint:
    """The angles as a mark of the swing was passed."""

    t_s: float
    angles: Angles
    spread: Spread = NO_SPREAD
    pitch_per_bend: float | None = None
    """Sensitivity: change of shaft pitch for a change of bend, all else held; dimensionless, negative: bowing flattens."""
    pitch_per_roll: float | None = None
    toe_rad: float | None = None
    """Face at a level shaft: 0 with the toe up, + shut, - open."""


class RepFlag(StrEnum):
    """What is particular about a rep."""

    HALF_SWING = "half_swing"
    """The lead arm never came to level."""
    NO_STRIKE = "no_strike"
    """No blow was felt at impact: a practice swing, or a very clean one on a tee."""
    CLIP_TURNED = "clip_turned"
    """The club's sensor sits otherwise than at the fit: bend and hinge are known less well, as their spread says."""
    STRAP_TURNED = "strap_turned"
    """The same of the forearm's sensor."""
    REGRIPPED = "regripped"
    """The club was let go, or is held otherwise, since the rep before: bend and hinge may have another zero, their change since
    address has not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """How a rep stood to a drill that was watched beside the one in force."""

    drill: str
    quantity: Quantity
    verdict: Verdict
    worst: float | None
    """As `Rep.worst`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rep:
    """One swing that reached the top and came down."""

    arrival_ns: int
    index: int
    """1 for the first rep of the practice."""
    address_s: float
    takeaway_s: float
    checkpoints: dict[Phase, Checkpoint]
    """By SHAFT_LEVEL, ARM_LEVEL, TOP and IMPACT; a mark that was not passed is missing."""
    backswing_s: float
    downswing_s: float | None
    verdict: Verdict
    worst: float | None
    """The drill quantity at its furthest outside the band, or nearest to an edge when it stayed inside; in radians, seconds or
    as a ratio, as `quantity` is."""
    out_s: float
    """How long the drill quantity was outside its band."""
    doubt: Doubt
    finish_s: float | None = None
    """When the swing was over; None while that is still to come."""
    arm_length_rad: float | None = None
    """Swing length at the top: angle between the lead forearm at address and at the top."""
    shaft_length_rad: float | None = None
    """Swing length at the top: how far the shaft is past level (+) or short of it (-)."""
    flags: tuple[RepFlag, ...] = ()
    cued: bool = True
    """Whether the cue was allowed to sound: what a player does without it is kept apart."""
    testing: bool = False
    """A rep of a test: neither cue nor figures were given."""
    paused: bool = False
    """Swung, wholly or in part, while the player had paused: it counts for no block."""
    drill: str = ""
    """Name of the drill it was judged by."""
    quantity: Quantity = Quantity.BEND_CHANGE
    """What that drill watches."""
    second: Judged | None = None
    """How it stood to the second drill, if there was one."""

    @property
    def tempo(self) -> float | None:
        """Backswing time over downswing time."""
        return self.backswing_s / self.downswing_s if self.downswing_s else None


@dataclass(frozen=True, slots=True, kw_only=True)
class RepRefined:
    """A rep given out before, by its index, now that the swing is over: for the record.

    Every mark is dated again from samples on both sides of it, its angles read there by a local fit, and `finish_s` is known.
    It replaces the rep of the same index; one whose swing was cut off by the end of the data never gets it.
    """

    arrival_ns: int
    rep: Rep


@dataclass(frozen=True, slots=True, kw_only=True)
class CueChange:
    """The cue starts or stops sounding."""

    arrival_ns: int
    t_s: float
    sounding: bool
    error_rad: float
    """How far outside the band: negative below it, positive above; 0 when it stops."""


class SignalKind(StrEnum):
    """A short sound, given once."""

    EDGE = "edge"
    """The quantity has come near the edge of its band."""
    IN_BAND = "in_band"
    """The whole swing's quantity, known now, is in the band."""
    BELOW = "below"
    """It is too short, or too quick."""
    ABOVE = "above"
    """It is too long, or too slow."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signal:
    """A short sound."""

    arrival_ns: int
    t_s: float
    kind: SignalKind


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


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillNews:
    """Another drill is in force, or cannot be: then `problem` says why and the one before stays."""

    arrival_ns: int
    problem: str = ""


Output = (
    Readout
    | Series
    | PhaseChange
    | Rep
    | RepRefined
    | CueChange
    | Signal
    | FitProgress
    | SensorTurned
    | TrimFound
    | HabitFound
    | DrillNews
)
