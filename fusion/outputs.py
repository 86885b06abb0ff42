"""What the pipeline says: one readout per packet, and the events of a practice. Radians, seconds, session clock.

A value that cannot be trusted is None, and the readout's `doubt` says why; it is never a plausible figure.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from sensors.ids import Move


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
    FORESHORTENED = "foreshortened"
    """Shaft pitch only: the shaft points along the line of view."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Angles:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Readout:
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
    worst_rad: float | None
    """The drill quantity at its furthest outside the band, or nearest to an edge when it stayed inside."""
    out_s: float
    """How long the drill quantity was outside its band."""
    doubt: Doubt


@dataclass(frozen=True, slots=True, kw_only=True)
class CueChange:
    """The cue starts or stops sounding."""

    arrival_ns: int
    t_s: float
    sounding: bool
    error_rad: float
    """How far outside the band: negative below it, positive above; 0 when it stops."""


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
    WRONG_POSE = "wrong_pose"
    """Gravity points where this pose cannot have it."""
    POSES_ALIKE = "poses_alike"
    """Arm down and arm level differ too little to tell the sensor's roll."""
    NOT_GRAVITY = "not_gravity"
    """The accelerometer does not read one g at rest."""


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
    """All moves are in: angles can be computed."""


Output = Readout | PhaseChange | Rep | CueChange | FitProgress
