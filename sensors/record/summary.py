"""What a recording holds, at a glance: for `pitchbend inspect`, and for anyone who must decide whether to keep it."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field, replace

from sensors.errors import ProfileError, UnknownProfile
from sensors.events import (
    BatteryLevel,
    ClockJump,
    ClockJumpCause,
    DrillSet,
    HabitSet,
    LinkChange,
    LookAheadSet,
    MessageSaid,
    MoveEnd,
    MoveStart,
    NoteWritten,
    PauseSet,
    PlayerSet,
    RawPacket,
    RecordingResumed,
    RepMarked,
    SecondDrillSet,
    SensorInfo,
    SensorPlaced,
    SignalStrength,
    SourceEvent,
    TrimSet,
)
from sensors.health import SensorHealth
from sensors.ids import Move, SensorId
from sensors.ingest import Ingest


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorSummary:
    """One sensor's share of a recording."""

    sensor: SensorId
    role: str
    """Where it was worn; empty when it never said so."""
    name: str
    profile: str
    firmware: str
    n_packets: int
    n_samples: int
    n_lost: int | None
    """Samples that never came, by the device's own counter or clock; None when it has neither, and nobody can know."""
    n_malformed: int
    n_duplicates: int
    n_restarts: int
    """How often the device began anew."""
    n_drops: int
    """How often the radio link was lost."""
    rate_hz: float | None
    """Samples a second by the device's own clock; None when there are too few."""
    longest_gap_s: float
    """Longest wait between two packets."""
    longest_gap_at_s: float
    """When that wait began, from the first event."""
    battery_pct: int | None
    """The last level reported."""
    trimmed: bool
    """Its own calibration was in force at the end."""
    health: SensorHealth | None = None
    """The figures that the live page shows, of the whole recording; None for a sensor that could not be read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveMark:
    """A fit move, in seconds from the first event."""

    move: Move
    start_s: float
    end_s: float | None
    """None when its end was left to the program."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hitch:
    """A moment at which the recording computer itself was in trouble, in seconds from the first event."""

    at_s: float
    cause: ClockJumpCause | None
    """None: recording was interrupted for want of room."""
    seconds: float
    """By how much the clock jumped, or for how long nothing was recorded."""
    n_missed: int = 0
    """Events that were never recorded."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """Something marked, noted or said, in seconds from the first event."""

    at_s: float
    event: RepMarked | NoteWritten | MessageSaid


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """The whole recording. Times are seconds from its first event."""

    duration_s: float
    n_events: int
    n_packets: int
    player: PlayerSet | None
    moves: tuple[MoveMark, ...]
    sensors: tuple[SensorSummary, ...]
    hitches: tuple[Hitch, ...] = ()
    remarks: tuple[Remark, ...] = ()


@dataclass(slots=True)
class _Tally:
    info: SensorInfo | None = None
    n_packets: int = 0
    trimmed: bool = False
    battery_pct: int | None = None
    last_arrival_ns: int | None = None
    longest_gap_ns: int = 0
    longest_gap_at_ns: int = 0


@dataclass(slots=True)
class Summariser:
    """Push every event through, then ask for the `summary`: one pass, together with whatever else reads them."""

    _first_ns: int | None = None
    _last_ns: int = 0
    _n_events: int = 0
    _player: PlayerSet | None = None
    _moves: list[MoveMark] = field(default_factory=list)
    _hitches: list[Hitch] = field(default_factory=list)
    _remarks: list[Remark] = field(default_factory=list)
    _tallies: dict[SensorId, _Tally] = field(default_factory=dict)
    _ingest: Ingest = field(default_factory=Ingest)

    def push(self, event: SourceEvent) -> None:
        """Count one event in."""
        if self._first_ns is None:
            self._first_ns = event.arrival_ns
        self._last_ns = event.arrival_ns
        self._n_events += 1
        at_s = (event.arrival_ns - self._first_ns) * 1e-9
        match event:
            case PlayerSet():
                self._player = event
            case MoveStart() | MoveEnd():
                self._mark(event, at_s)
            case ClockJump():
                self._hitches.append(Hitch(at_s=at_s, cause=event.cause, seconds=event.seconds))
            case RecordingResumed():
                if event.n_missed:
                    missed = Hitch(at_s=at_s, cause=None, seconds=event.missed_s, n_missed=event.n_missed)
                    self._hitches.append(missed)
            case RepMarked() | NoteWritten() | MessageSaid():
                self._remarks.append(Remark(at_s=at_s, event=event))
            case HabitSet() | DrillSet() | SecondDrillSet() | LookAheadSet() | PauseSet():
                pass
            case _:
                self._note(event)
        with suppress(UnknownProfile, ProfileError):  # its packets are counted, and not read
            self._ingest.push(event)

    def summary(self) -> Summary:
        """Sum up what has been pushed so far."""
        first_ns = self._first_ns if self._first_ns is not None else 0
        known = {health.sensor: health for health in self._ingest.health(self._last_ns)}
        sensors = tuple(_sum_up(sensor, tally, known.get(sensor), first_ns) for sensor, tally in self._tallies.items())
        return Summary(
            duration_s=(self._last_ns - first_ns) * 1e-9 if self._first_ns is not None else 0.0,
            n_events=self._n_events,
            n_packets=sum(sensor.n_packets for sensor in sensors),
            player=self._player,
            moves=tuple(self._moves),
            sensors=sensors,
            hitches=tuple(self._hitches),
            remarks=tuple(self._remarks),
        )

    def _note(
        self, event: SensorInfo | SensorPlaced | LinkChange | BatteryLevel | RawPacket | TrimSet | SignalStrength
    ) -> None:
        tally = self._tallies.setdefault(event.sensor, _Tally())
        match event:
            case SensorInfo():
                tally.info = event
            case TrimSet():
                tally.trimmed = True
            case BatteryLevel():
                tally.battery_pct = event.battery_pct
            case RawPacket():
                _count_packet(tally, event)
            case _:
                pass

    def _mark(self, event: MoveStart | MoveEnd, at_s: float) -> None:
        if isinstance(event, MoveStart):
            self._moves.append(MoveMark(move=event.move, start_s=at_s, end_s=None))
        elif self._moves and self._moves[-1].move is event.move and self._moves[-1].end_s is None:
            self._moves[-1] = replace(self._moves[-1], end_s=at_s)


def _count_packet(tally: _Tally, packet: RawPacket) -> None:
    tally.n_packets += 1
    if tally.last_arrival_ns is not None and packet.arrival_ns - tally.last_arrival_ns > tally.longest_gap_ns:
        tally.longest_gap_ns = packet.arrival_ns - tally.last_arrival_ns
        tally.longest_gap_at_ns = tally.last_arrival_ns
    tally.last_arrival_ns = packet.arrival_ns


def _sum_up(sensor: SensorId, tally: _Tally, health: SensorHealth | None, first_ns: int) -> SensorSummary:
    info = tally.info
    has_gap = tally.longest_gap_ns > 0
    return SensorSummary(
        sensor=sensor,
        role=info.role.value if info else "",
        name=info.name if info else "",
        profile=info.profile if info else "",
        firmware=info.firmware if info else "",
        n_packets=tally.n_packets,
        n_samples=health.n_samples if health else 0,
        n_lost=health.n_lost if health else 0,
        n_malformed=health.n_malformed if health else 0,
        n_duplicates=health.n_duplicates if health else 0,
        n_restarts=health.n_restarts if health else 0,
        n_drops=health.n_drops if health else 0,
        rate_hz=health.device_rate_hz if health else None,
        longest_gap_s=tally.longest_gap_ns * 1e-9,
        longest_gap_at_s=(tally.longest_gap_at_ns - first_ns) * 1e-9 if has_gap else 0.0,
        battery_pct=tally.battery_pct,
        trimmed=tally.trimmed,
        health=health,
    )
