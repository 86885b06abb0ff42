"""The one file that knows the order of things: events in, readouts and events of the practice out.

A pure function of its input: no clock, no randomness, no I/O. Feeding the same events gives the same numbers to the last bit,
whether they come from a radio now or from a recording next year.
"""

from __future__ import annotations

import bisect

from fusion.address import find_address
from fusion.calibration.fit import BodyFit
from fusion.calibration.session import FitSession, FitStatus
from fusion.drills.drill import Drill
from fusion.measure import tilt_only
from fusion.orientation.bias import BODY_REST_RAD_S
from fusion.orientation.rest import (
    ADDRESS_REST_S,
    RENEW_AFTER_S,
    REST_RATE_RAD_S,
    Rest,
    rest_of,
)
from fusion.orientation.track import SensorTrack
from fusion.outputs import Angles, Doubt, Output, Phase, PhaseChange, Readout
from fusion.pairing import Pair, Pairing
from fusion.swing.follower import SwingFollower
from sensors.events import MoveStart, PlayerSet, SensorInfo, SourceEvent
from sensors.health import SensorHealth
from sensors.ids import Role, SensorId, Side
from sensors.ingest import Ingest
from sensors.profiles.registry import profile_named
from sensors.readings import Gap, ImuBlock

_MISSING_AFTER_S = 0.4
"""A sensor silent for so long while the other reports is missing."""
_MOVING_RAD_S = 3 * REST_RATE_RAD_S
"""A packet this lively ends no rest; the rest itself is measured more finely."""
_RENEWABLE = (Phase.ADDRESS, Phase.TAKEAWAY)
"""A rest over the ball begins a new swing from here: what looked like a takeaway was settling in."""


class Pipeline:
    """One practice: one player, one drill, one pair of sensors."""

    def __init__(self, drill: Drill) -> None:
        self.drill = drill
        self.player: PlayerSet | None = None
        self._ingest = Ingest()
        self._tracks: dict[Role, SensorTrack] = {}
        self._worn: dict[Role, SensorId] = {}
        self._seen_s: dict[Role, float] = {}
        self._pairing = Pairing()
        self._recent: list[Pair] = []
        """Instants of the last rest length or so."""
        self._fit = FitSession()
        self._swing: SwingFollower | None = None
        self._last_bias_s = float("-inf")
        self._n_reps = 0

    @property
    def fit(self) -> FitStatus:
        """Which fit moves are in."""
        return self._fit.status

    def health(self, now_ns: int) -> tuple[SensorHealth, ...]:
        """How every sensor fares at host time `now_ns`."""
        return self._ingest.health(now_ns)

    def push(self, event: SourceEvent) -> tuple[Output, ...]:
        """Take in one event. Raises `UnknownProfile` for a sensor whose packets this program cannot read."""
        items = self._ingest.push(event)
        match event:
            case PlayerSet():
                self.player = event
            case SensorInfo():
                self._introduce(event)
            case MoveStart():
                return (self._fit.begin(event.arrival_ns, self._ingest.session_s(event.arrival_ns), event.move),)
            case _:
                pass
        out: list[Output] = []
        for item in items:
            match item:
                case Gap():
                    if item.restarted:
                        self._restart(self._ingest.role_of(item.sensor))
                case ImuBlock():
                    out.extend(self._block(item))
        return tuple(out)

    @property
    def _side(self) -> Side:
        return self.player.lead_side if self.player is not None else Side.LEFT

    def _introduce(self, info: SensorInfo) -> None:
        """A sensor that comes back goes on where it was; another one in its place has to be fitted anew."""
        worn = self._worn.get(info.role)
        if worn == info.sensor:
            return
        self._worn[info.role] = info.sensor
        self._tracks[info.role] = SensorTrack(profile_named(info.profile).nominal_rate_hz)
        if worn is not None:
            self._fit, self._swing = FitSession(), None
            self._restart(info.role)

    def _restart(self, role: Role) -> None:
        self._tracks[role].restart()
        self._pairing.restart()
        self._recent.clear()

    def _block(self, block: ImuBlock) -> list[Output]:
        role = self._ingest.role_of(block.sensor)
        track = self._tracks[role]
        self._seen_s[role] = self._ingest.session_s(block.arrival_ns)
        pairs = self._pairing.push(role, track.push(block))
        now_s = float(block.t_s[-1])
        out: list[Output] = []
        if self._fit.collecting:
            had = self._fit.fit
            progress = self._fit.advance(block.arrival_ns, now_s, self._tracks, self._side)
            if progress is not None:
                out.append(progress)
                if self._fit.fit is not had:
                    self._swing = None  # its zero was taken with the old fit
        if pairs:
            out.extend(self._pairs(block.arrival_ns, pairs))
        elif self._missing_other(role):
            out.append(self._readout(block.arrival_ns, now_s, Angles(), Doubt.SENSOR_MISSING))
        return out

    def _missing_other(self, role: Role) -> bool:
        other = Role.CLUB if role is Role.FOREARM else Role.FOREARM
        return self._seen_s[role] - self._seen_s.get(other, 0.0) > _MISSING_AFTER_S

    def _pairs(self, arrival_ns: int, pairs: list[Pair]) -> list[Output]:
        fit = self._fit.fit
        t_s = pairs[-1][0]
        self._recent += pairs
        del self._recent[: bisect.bisect_left(self._recent, t_s - ADDRESS_REST_S, key=lambda pair: pair[0])]
        if fit is None:
            return [self._readout(arrival_ns, t_s, Angles(), Doubt.NOT_FITTED)]
        out: list[Output] = []
        swing = self._swing
        if swing is not None:
            swing.doubt = self._faults(swing.doubt)
            out.extend(swing.push(arrival_ns, pairs))
            if swing.over:
                self._n_reps = swing.n_reps
                swing = self._swing = None
        if swing is None or (swing.phase in _RENEWABLE and t_s - swing.address_s > RENEW_AFTER_S):
            found = self._address(fit)
            if found is not None:
                if swing is not None:
                    out.extend(swing.hush(arrival_ns))
                if swing is None or swing.phase is not Phase.ADDRESS:
                    out.append(PhaseChange(arrival_ns=arrival_ns, t_s=t_s, phase=Phase.ADDRESS))
                swing = self._swing = found
        if swing is not None:
            out.append(swing.readout(arrival_ns))
        else:
            idle = [self._tracks[role].idle.q_earth_from_sensor for role in (Role.CLUB, Role.FOREARM)]
            out.append(self._readout(arrival_ns, t_s, tilt_only(idle[0], fit, idle[1]), Doubt.NO_ADDRESS))
        return out

    def _faults(self, so_far: Doubt) -> Doubt:
        if so_far is not Doubt.NONE:
            return so_far
        if any(track.saturated for track in self._tracks.values()):
            return Doubt.SATURATED
        if any(track.broken for track in self._tracks.values()):
            return Doubt.GAP
        return Doubt.NONE

    def _address(self, fit: BodyFit) -> SwingFollower | None:
        """Find a rest of both sensors that ends now, over the ball, and begin to follow the swing from its middle.

        Not from its end: a takeaway that creeps off is within a rest's limits for its first tenth of a second.
        """
        if any(track.rate_rms_rad_s > _MOVING_RAD_S for track in self._tracks.values()):
            return None
        recent = self._recent
        end_s = recent[-1][0]
        rests: dict[Role, Rest] = {}
        for role, track in self._tracks.items():
            window = track.window(end_s - ADDRESS_REST_S, end_s)
            if window is None:
                return None
            rest = rest_of(window)
            if not rest.calm(track.bias.bias_rad_s):
                return None
            rests[role] = rest
        middle = bisect.bisect_left(recent, end_s - ADDRESS_REST_S / 2, key=lambda pair: pair[0])
        if len(rests) < len(Role) or recent[middle][0] - (end_s - ADDRESS_REST_S / 2) > 0.05:
            return None
        t_s, q_forearm, q_club = recent[middle]
        address = find_address(t_s, (q_forearm, q_club), rests[Role.FOREARM], rests[Role.CLUB], fit)
        if address is None:
            return None
        if end_s - self._last_bias_s > ADDRESS_REST_S:
            self._last_bias_s = end_s
            for role, rest in rests.items():
                self._tracks[role].bias.rest(end_s, rest.mean_rate_rad_s, BODY_REST_RAD_S)
        for track in self._tracks.values():
            track.clear_faults()
        return SwingFollower(address, recent[middle:], fit, self.drill, self._n_reps)

    def _readout(self, arrival_ns: int, t_s: float, angles: Angles, doubt: Doubt) -> Readout:
        return Readout(
            arrival_ns=arrival_ns, t_s=t_s, phase=Phase.IDLE, angles=angles, doubt=doubt, pitch_doubt=doubt,
            since_rest_s=None,
        )  # fmt: skip
