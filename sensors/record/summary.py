"""What a recording holds, at a glance: for `pitchbend inspect`, and for anyone who must decide whether to keep it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from sensors.decode.decoder import AnyDecoder, decoder_for
from sensors.errors import ProfileError, UnknownProfile
from sensors.events import (
    BatteryLevel,
    LinkChange,
    LinkState,
    MoveEnd,
    MoveStart,
    PlayerSet,
    RawPacket,
    SensorInfo,
    SourceEvent,
    TrimSet,
)
from sensors.ids import Move, SensorId
from sensors.profiles.registry import profile_of
from sensors.readings import Gap, Malformed, Reading


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


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveMark:
    """A fit move, in seconds from the first event."""

    move: Move
    start_s: float
    end_s: float | None
    """None when its end was left to the program."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """The whole recording. Times are seconds from its first event."""

    duration_s: float
    n_events: int
    n_packets: int
    player: PlayerSet | None
    moves: tuple[MoveMark, ...]
    sensors: tuple[SensorSummary, ...]


@dataclass(slots=True)
class _Tally:
    info: SensorInfo | None = None
    decoder: AnyDecoder | None = None
    shows_loss: bool = True
    n_packets: int = 0
    n_samples: int = 0
    n_lost: int = 0
    n_malformed: int = 0
    n_restarts: int = 0
    n_drops: int = 0
    battery_pct: int | None = None
    trimmed: bool = False
    spanned_s: float = 0.0
    spanned_samples: int = 0
    last_device_s: float | None = None
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
    _tallies: dict[SensorId, _Tally] = field(default_factory=dict)

    def push(self, event: SourceEvent) -> None:
        """Count one event in."""
        if self._first_ns is None:
            self._first_ns = event.arrival_ns
        self._last_ns = event.arrival_ns
        self._n_events += 1
        match event:
            case PlayerSet():
                self._player = event
            case MoveStart() | MoveEnd():
                self._mark(event, (event.arrival_ns - self._first_ns) * 1e-9)
            case TrimSet():
                self._tally(event.sensor).trimmed = True
            case SensorInfo():
                _introduce(self._tally(event.sensor), event)
            case LinkChange():
                self._tally(event.sensor).n_drops += event.state is LinkState.LOST
            case BatteryLevel():
                self._tally(event.sensor).battery_pct = event.battery_pct
            case RawPacket():
                _count_packet(self._tally(event.sensor), event)

    def summary(self) -> Summary:
        """Sum up what has been pushed so far."""
        first_ns = self._first_ns if self._first_ns is not None else 0
        sensors = tuple(_sum_up(sensor, tally, first_ns) for sensor, tally in self._tallies.items())
        return Summary(
            duration_s=(self._last_ns - first_ns) * 1e-9 if self._first_ns is not None else 0.0,
            n_events=self._n_events,
            n_packets=sum(sensor.n_packets for sensor in sensors),
            player=self._player,
            moves=tuple(self._moves),
            sensors=sensors,
        )

    def _mark(self, event: MoveStart | MoveEnd, at_s: float) -> None:
        if isinstance(event, MoveStart):
            self._moves.append(MoveMark(move=event.move, start_s=at_s, end_s=None))
        elif self._moves and self._moves[-1].move is event.move and self._moves[-1].end_s is None:
            self._moves[-1] = replace(self._moves[-1], end_s=at_s)

    def _tally(self, sensor: SensorId) -> _Tally:
        return self._tallies.setdefault(sensor, _Tally())


def _introduce(tally: _Tally, info: SensorInfo) -> None:
    if tally.info is None or (tally.info.profile, tally.info.profile_text) != (info.profile, info.profile_text):
        try:
            profile = profile_of(info)
            tally.decoder, tally.shows_loss = decoder_for(profile), profile.shows_loss
        except (UnknownProfile, ProfileError):
            tally.decoder = None
    tally.info = info


def _count_packet(tally: _Tally, packet: RawPacket) -> None:
    tally.n_packets += 1
    if tally.last_arrival_ns is not None and packet.arrival_ns - tally.last_arrival_ns > tally.longest_gap_ns:
        tally.longest_gap_ns = packet.arrival_ns - tally.last_arrival_ns
        tally.longest_gap_at_ns = tally.last_arrival_ns
    tally.last_arrival_ns = packet.arrival_ns
    for item in tally.decoder.push(packet) if tally.decoder else ():
        match item:
            case Reading():
                _count_reading(tally, item)
            case Gap():
                tally.n_lost += item.n_lost
                tally.n_restarts += item.restarted
                tally.last_device_s = None  # the rate is measured over unbroken stretches only
            case Malformed():
                tally.n_malformed += 1


def _count_reading(tally: _Tally, reading: Reading) -> None:
    n = len(reading.device_s)
    tally.n_samples += n
    end_s = float(reading.device_s[-1])
    if tally.last_device_s is not None:
        tally.spanned_s += end_s - tally.last_device_s
        tally.spanned_samples += n
    tally.last_device_s = end_s


def _sum_up(sensor: SensorId, tally: _Tally, first_ns: int) -> SensorSummary:
    info = tally.info
    has_gap = tally.longest_gap_ns > 0
    return SensorSummary(
        sensor=sensor,
        role=info.role.value if info else "",
        name=info.name if info else "",
        profile=info.profile if info else "",
        firmware=info.firmware if info else "",
        n_packets=tally.n_packets,
        n_samples=tally.n_samples,
        n_lost=tally.n_lost if tally.shows_loss else None,
        n_malformed=tally.n_malformed,
        n_duplicates=tally.decoder.n_duplicates if tally.decoder else 0,
        n_restarts=tally.n_restarts,
        n_drops=tally.n_drops,
        rate_hz=tally.spanned_samples / tally.spanned_s if tally.spanned_s > 0.0 else None,
        longest_gap_s=tally.longest_gap_ns * 1e-9,
        longest_gap_at_s=(tally.longest_gap_at_ns - first_ns) * 1e-9 if has_gap else 0.0,
        battery_pct=tally.battery_pct,
        trimmed=tally.trimmed,
    )
