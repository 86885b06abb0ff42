"""What is said of an instant: the phase, the angles and how well they are known. Radians, seconds, session clock.

A value that cannot be trusted is None, and `doubt` says why; it is never a plausible figure. These are named tuples, which are
made three times as fast as dataclasses; name what is given.
"""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple

from fusion.rotation import Quat
from fusion.shaft.butt_line import ButtLine


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
