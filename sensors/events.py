"""What a source of sensor data emits, in order of arrival. A recording is exactly this stream.

Every event carries `arrival_ns`, integer nanoseconds of one host clock that never steps back. Everything computed
downstream is a function of these events alone, so a replay repeats the live numbers to the last bit.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from sensors.habit import Habit
from sensors.ids import Move, Role, SensorId, Side
from sensors.trim import Trim


@dataclass(frozen=True, slots=True, kw_only=True)
class RawPacket:
    """One notification, as the radio delivered it."""

    arrival_ns: int
    sensor: SensorId
    payload: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorInfo:
    """A sensor introduces itself; precedes its first packet, and comes again after each reconnection."""

    arrival_ns: int
    sensor: SensorId
    role: Role
    profile: str
    """Name of the device profile that decodes its packets, with any settings: `sensors.profiles.registry` reads it."""
    name: str
    firmware: str = ""
    profile_text: str = ""
    """The profile's TOML, so that a recording needs no file of the person who made it; empty for one known by name alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorPlaced:
    """A sensor is expected at a place: before it has been heard for the first time, and when it is given another.

    So that it can be listed, with what stands in the way of it, before it has ever introduced itself.
    """

    arrival_ns: int
    sensor: SensorId
    role: Role


class LinkState(StrEnum):
    """Where the radio link to one sensor stands."""

    SEARCHING = "searching"
    CONNECTING = "connecting"
    STREAMING = "streaming"
    LOST = "lost"
    """The link went down; the collector is about to try again by itself."""
    STOPPED = "stopped"
    """The source ended (end of a recording, or the user stopped it)."""


class LinkReason(StrEnum):
    """Why a link is in its state; advice for the person is looked up by this, never by message text."""

    NONE = "none"
    NOT_FOUND = "not_found"
    DROPPED = "dropped"
    """The link went down, and nothing tells why."""
    OUT_OF_RANGE = "out_of_range"
    """The link went down, or the sensor is not heard, and it was heard weakly before."""
    SWITCHED_OFF = "switched_off"
    """The sensor itself ended the link."""
    BATTERY_EMPTY = "battery_empty"
    """The link went down, or the sensor is not heard, and its battery was nearly empty."""
    SILENT = "silent"
    """Connected, yet no packet for two seconds."""
    CONNECT_FAILED = "connect_failed"
    IN_USE = "in_use"
    """Another program of this machine holds it."""
    WRONG_DEVICE = "wrong_device"
    """It lacks the service or characteristic that its profile needs."""
    ADAPTER_OFF = "adapter_off"
    NO_ADAPTER = "no_adapter"
    SERVICE_OFF = "service_off"
    """The system's Bluetooth service does not run."""
    PERMISSION_DENIED = "permission_denied"
    ADAPTER_STUCK = "adapter_stuck"
    """The computer's Bluetooth is there and on, and does not search."""
    NO_BLINK = "no_blink"
    """Sensors of its kind cannot show themselves."""
    END_OF_RECORDING = "end_of_recording"


OF_THE_MACHINE: Final = frozenset(
    {
        LinkReason.ADAPTER_OFF,
        LinkReason.NO_ADAPTER,
        LinkReason.SERVICE_OFF,
        LinkReason.PERMISSION_DENIED,
        LinkReason.ADAPTER_STUCK,
    }
)
"""These are of the computer, whichever sensor notices them first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkChange:
    """The link to a sensor changed state."""

    arrival_ns: int
    sensor: SensorId
    state: LinkState
    reason: LinkReason = LinkReason.NONE


@dataclass(frozen=True, slots=True, kw_only=True)
class BatteryLevel:
    """Battery Service level, percent 0..100."""

    arrival_ns: int
    sensor: SensorId
    battery_pct: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveStart:
    """The golfer was asked for a move and has begun it (a tap on the page, or a mark in a recording)."""

    arrival_ns: int
    move: Move


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveEnd:
    """The move is over: a mark made with the recording. Without it the program itself decides when it has seen enough."""

    arrival_ns: int
    move: Move
    is_last: bool = False
    """No move of another kind comes after it: the fit is made with what there is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayerSet:
    """Who swings: the lead side decides the signs of hinge and roll. First event of a practice."""

    arrival_ns: int
    name: str
    lead_side: Side
    club: str = ""
    club_length_m: float = 0.0
    """Butt to head along the shaft; 0 when unknown."""
    arm_length_m: float = 0.0
    """Lead shoulder to the middle of the hands; 0 when unknown."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimSet:
    """The stored calibration of a sensor comes into force; it counts for every sample after it."""

    arrival_ns: int
    sensor: SensorId
    trim: Trim


@dataclass(frozen=True, slots=True, kw_only=True)
class HabitSet:
    """What is remembered of the player comes into force: fewer fit moves are needed. It comes before any of them."""

    arrival_ns: int
    habit: Habit


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillSet:
    """The player or the coach chose a drill; it counts from the next swing on."""

    arrival_ns: int
    text: str
    """The drill as it is written in its file, whole, so that a recording needs nothing beside it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondDrillSet:
    """The coach wants another drill judged beside the one in force, from the next swing on."""

    arrival_ns: int
    text: str
    """As `DrillSet.text`; empty: none any more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LookAheadSet:
    """How much early the cue is begun, because the sound comes late; counts from the next swing on."""

    arrival_ns: int
    lead_s: float
    """Seconds; 0 begins it when the band is left."""


class RepMark(StrEnum):
    """What somebody who watches thinks of a rep."""

    GOOD = "good"
    LOOK = "look"
    """Worth looking at again."""
    NONE = "none"
    """No mark: takes an earlier one away."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RepMarked:
    """Somebody marked a rep. Moves no number, as the two events after it."""

    arrival_ns: int
    rep: int
    """Its number in the practice, from 1."""
    mark: RepMark
    by: str = ""
    """Who did it: a name, or `coach` or `student`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteWritten:
    """Somebody noted something."""

    arrival_ns: int
    text: str
    rep: int = 0
    """The rep that it is about; 0: the practice."""
    by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MessageSaid:
    """Something was said to the one who swings, on their page."""

    arrival_ns: int
    text: str
    by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PauseSet:
    """The player pauses, or goes on: in a pause nothing sounds, and a rep begun or swung in one counts for no block."""

    arrival_ns: int
    paused: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SignalStrength:
    """How strongly the radio heard a sensor: the last advertisement before it was connected."""

    arrival_ns: int
    sensor: SensorId
    rssi_dbm: int


class ClockJumpCause(StrEnum):
    """What made the clocks of the recording computer part."""

    SET = "set"
    """Someone, or a time server, set the wall clock. Stamps are not touched by it."""
    SLEEP = "sleep"
    """The computer slept: the clock of the stamps stood still meanwhile."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockJump:
    """The wall clock of the recording computer jumped against the clock of the stamps."""

    arrival_ns: int
    cause: ClockJumpCause
    seconds: float
    """How far forward; negative when it was set back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordingResumed:
    """Recording goes on after a stop. In a file that continues another one, what stands before it is restated from there."""

    arrival_ns: int
    n_missed: int
    """Events that were never written: there was no room on disk, and none left in memory."""
    missed_s: float
    """From the first of them to the last."""


EventWithoutPayload = (
    SensorInfo
    | SensorPlaced
    | LinkChange
    | BatteryLevel
    | MoveStart
    | MoveEnd
    | PlayerSet
    | TrimSet
    | HabitSet
    | DrillSet
    | SecondDrillSet
    | LookAheadSet
    | PauseSet
    | RepMarked
    | NoteWritten
    | MessageSaid
    | SignalStrength
    | ClockJump
    | RecordingResumed
)
SourceEvent = RawPacket | EventWithoutPayload
