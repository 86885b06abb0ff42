"""The one file that knows the order of things: events in, readouts and events of the practice out.

A pure function of its input: no clock, no randomness, no I/O. Feeding the same events gives the same numbers to the last bit,
whether they come from a radio now or from a recording next year.
"""

from __future__ import annotations

import bisect

from fusion.calibration.fit import BodyFit
from fusion.calibration.gathered import SILENT_S
from fusion.calibration.session import FitSession, FitStatus
from fusion.calibration.standing import Standing, standing_of
from fusion.drills.course import Course
from fusion.drills.desk import Desk
from fusion.drills.drill import Drill
from fusion.holding import Holding
from fusion.in_step import InStep
from fusion.kit import TRIM_MOVES, Kit
from fusion.orientation.bias import BODY_REST_RAD_S
from fusion.orientation.rest import ADDRESS_REST_S, FIRST_REST_S, RENEW_TICKS
from fusion.orientation.window import INSTANT_S
from fusion.outputs.fit import FitProgress, FitState, HabitFound
from fusion.outputs.instant import NO_ANGLES, Angles, Doubt, Moment, Phase, Readout, Series
from fusion.outputs.output import Output
from fusion.outputs.rep import PhaseChange
from fusion.pairing import Pair, Pairing
from fusion.rotation import Quat
from fusion.series import doubtful_moments, idle_moments
from fusion.swing.followed import FollowedSwing, follow
from fusion.swing.strike import StrikeMemory
from fusion.swing_angles import tilt_only
from fusion.ticks import TICK_S, by_tick, tick_of
from fusion.watches import Watches
from fusion.zero import both_at_rest, zero_at
from sensors.events import (
    DrillSet,
    HabitSet,
    LookAheadSet,
    MoveEnd,
    MoveStart,
    PauseSet,
    PlayerSet,
    RawPacket,
    SecondDrillSet,
    SensorInfo,
    SourceEvent,
    TrimSet,
)
from sensors.health import SensorHealth
from sensors.ids import Role, Side
from sensors.ingest import Ingest
from sensors.readings import Gap, ImuBlock

_RECENT_S = ADDRESS_REST_S + 2 * TICK_S


class Pipeline:
    """One practice: one player, one pair of sensors, one drill at a time.

    Sensors worn elsewhere may be in the stream: they are decoded and counted for their health, and move no number.
    """

    def __init__(self, drill: Drill, *, series: bool = False) -> None:
        self._desk = Desk(drill)
        self.player: PlayerSet | None = None
        self._wants_series = series
        self._ingest = Ingest()
        self._kit = Kit(keeps_idle=series)
        self._seen_s: dict[Role, float] = {}
        self._pairing = Pairing()
        self._in_step = InStep(self._ingest, self._kit)
        self._recent: list[Pair] = []
        """Instants of the last rest length or so."""
        self._tick: int | None = None
        self._fit = FitSession()
        self._watches: Watches | None = None
        self._measured_by: BodyFit | None = None
        """The fit in force when last looked."""
        self._swing: FollowedSwing | None = None
        self._holding = Holding()
        self._newest_ns = 0
        self._last_bias_s = float("-inf")
        self._n_reps = 0
        self._strikes = StrikeMemory()

    @property
    def drill(self) -> Drill:
        """The drill in force."""
        return self._desk.drill

    @property
    def desk(self) -> Desk:
        """Everything about drills."""
        return self._desk

    @property
    def course(self) -> Course:
        """Where the player stands in its blocks."""
        return self._desk.course

    @property
    def lead_s(self) -> float:
        """How much early the cue is begun."""
        return self._desk.lead_s

    @property
    def may_fit(self) -> bool:
        """The next samples may bring a fit, which takes half a second to work out."""
        return self._fit.may_fit

    @property
    def fit(self) -> FitStatus:
        """Which fit moves are in."""
        return self._fit.status

    @property
    def body_fit(self) -> BodyFit | None:
        """The constants in force."""
        return self._fit.fit

    def standing(self, t_s: float) -> Standing | None:
        """How both sensors lie up to `t_s`, for whoever leads through the fit; None when all is in. Changes nothing."""
        return standing_of(self._kit.tracks, self._fit.axes, t_s) if self._fit.led else None

    def health(self, now_ns: int) -> tuple[SensorHealth, ...]:
        """How every sensor fares at host time `now_ns`."""
        return self._ingest.health(now_ns)

    def push(self, event: SourceEvent) -> tuple[Output, ...]:
        """Take in one event. Raises `UnknownProfile` or `ProfileError` for a sensor whose packets this program cannot read."""
        items = self._ingest.push(event)
        out = [] if isinstance(event, RawPacket) else self._event(event)
        for item in items:
            if item.sensor in self._kit.sensors.values():
                out.extend(self._item(item))
        return tuple(out)

    def close(self) -> tuple[Output, ...]:
        """No more events come: give out the instants that were held back."""
        return (
            (Series(arrival_ns=self._newest_ns, moments=tuple(self._holding.everything())),)
            if self._wants_series
            else ()
        )

    def _event(self, event: SourceEvent) -> list[Output]:
        """All that an event brings beside samples."""
        out: list[Output] = []
        match event:
            case PlayerSet():
                self.player = event
            case SensorInfo():
                self._introduce(event)
            case TrimSet():
                self._kit.stored_trim(event)
            case DrillSet() | SecondDrillSet() | LookAheadSet() | PauseSet():
                out.extend(self._desk.hear(event))
            case HabitSet():
                self._fit.habit = event.habit
            case MoveStart():
                out.append(self._begin(event))
            case MoveEnd():
                now_s, had = self._ingest.session_s(event.arrival_ns), self._fit.fit
                out.extend(
                    self._progress(self._fit.end(event.arrival_ns, now_s, event.move, self._kit.tracks, self._side))
                )
                if event.is_last and (made_do := self._fit.no_more(event.arrival_ns, self._side)) is not None:
                    out.append(made_do)
                out.extend(self._habit_found(event.arrival_ns, had))
            case _:
                pass
        return out

    def _item(self, item: ImuBlock | Gap) -> list[Output]:
        if isinstance(item, ImuBlock):
            return self._block(item)
        if item.restarted:
            self._kit.tracks[self._ingest.role_of(item.sensor)].restart()
            self._unlink()
        return []

    @property
    def _side(self) -> Side:
        return self.player.lead_side if self.player is not None else Side.LEFT

    def _introduce(self, info: SensorInfo) -> None:
        """What was learnt of a place no longer holds once another sensor, or none, is worn there."""
        change = self._kit.introduce(info)
        if change is None:
            return
        for role in change.taken_off:
            self._unlink()
            self._fit, self._swing = FitSession(self._fit.habit), None
            self._seen_s.pop(role, None)
        if change.role is None:
            return
        if change.exchanged:
            fit, self._fit, self._swing = self._fit, FitSession(self._fit.habit), None
            self._fit.worn.update(fit.worn)
            self._unlink()
        self._fit.worn[change.role] = change.worn

    def _unlink(self) -> None:
        """Instants before and after do not connect."""
        self._pairing.restart()
        self._in_step.forget()
        self._recent.clear()

    def _begin(self, event: MoveStart) -> FitProgress:
        if event.move in TRIM_MOVES:
            self._kit.begin_trim(self._ingest.session_s(event.arrival_ns))
        elif self._watches is not None:
            for role, told in self._watches.turns.turned.items():
                self._fit.forget(role, told.t_s)
        return self._fit.begin(event.arrival_ns, self._ingest.session_s(event.arrival_ns), event.move)

    def _progress(self, progress: FitProgress | None) -> list[Output]:
        """A move has ended: what it brings beside the fit."""
        if progress is None:
            return []
        out: list[Output] = []
        if progress.move in TRIM_MOVES:
            progress, found = self._kit.end_trim(progress, self._fit.judged_s)
            out.extend(found)
        elif progress.state is FitState.TAKEN and (collected := self._fit.last_collected) is not None:
            self._in_step.shown(collected, self._fit.judged_s)
        return [progress, *out]

    def _habit_found(self, arrival_ns: int, had: BodyFit | None) -> list[HabitFound]:
        """What a new fit shows of the player, if it was made with all moves."""
        if self._fit.fit is had:
            return []
        habit, worn = self._fit.habit_shown, self._kit.sensors
        if habit is None:
            return []
        name, forearm, club = self.player.name if self.player else "", worn[Role.FOREARM], worn[Role.CLUB]
        return [HabitFound(arrival_ns=arrival_ns, player=name, forearm=forearm, club=club, habit=habit)]

    def _block(self, block: ImuBlock) -> list[Output]:
        role = self._ingest.role_of(block.sensor)
        track = self._kit.tracks[role]
        self._seen_s[role] = self._ingest.session_s(block.arrival_ns)
        self._newest_ns = block.arrival_ns
        self._kit.push(role, block)
        samples = track.push(block)
        if role is Role.CLUB:
            samples = self._in_step.stamped(samples)
        pairs = self._pairing.push(role, samples)
        now_s = float(block.t_s[-1])
        out: list[Output] = []
        had = self._fit.fit
        if self._fit.collecting:
            out.extend(self._progress(self._fit.push(block.arrival_ns, role, self._kit.tracks, self._side)))
        else:
            waited = self._fit.waited(block.arrival_ns, now_s, self._side)
            out.extend([waited] if waited is not None else [])
        out.extend(self._habit_found(block.arrival_ns, had))
        if pairs:
            out.extend(self._pairs(block.arrival_ns, pairs))
        elif self._missing_other(role):
            out.append(self._readout(block.arrival_ns, now_s, NO_ANGLES, Doubt.SENSOR_MISSING))
            alone = self._pairing.give_up() if role is Role.FOREARM else []
            if self._wants_series and alone:
                moments = (*self._holding.everything(), *doubtful_moments(alone, Doubt.SENSOR_MISSING))
                out.append(Series(arrival_ns=block.arrival_ns, moments=moments))
        return out

    def _missing_other(self, role: Role) -> bool:
        other = Role.CLUB if role is Role.FOREARM else Role.FOREARM
        return self._seen_s[role] - self._seen_s.get(other, 0.0) > SILENT_S

    def _pairs(self, arrival_ns: int, pairs: list[Pair]) -> list[Output]:
        t_s = pairs[-1][0]
        out: list[Output] = []
        moments: list[Moment] = []
        for tick, part in by_tick(pairs):
            fit = self._fit_of(tick)
            if tick != self._tick and fit is not None and self._tick is not None:
                self._in_step.look(part[0][0])
                watches = self._watching(fit)
                out.extend(watches.look(arrival_ns, self._recent, self._swing, self._kit.trouble_s))
                out.extend(self._renewed(arrival_ns, watches.turns.in_force))
            self._tick = tick
            self._recent += part
            swing = self._swing
            moments.extend(self._holding.unless(swing))
            outside = part
            if swing is not None:
                news = swing.push(arrival_ns, part, self._kit.faults(swing.follower))
                out.extend(news)
                self._in_step.hear(news)
                outside = self._holding.keep(swing, part)
                if swing.follower.over:
                    self._count(swing)
                    self._swing = None
                    moments.extend(self._holding.unless(None))
            if outside and self._wants_series:
                moments.extend(self._between_swings(outside, fit))
        del self._recent[: bisect.bisect_left(self._recent, (t_s - _RECENT_S,))]
        if self._swing is not None:
            out.append(self._swing.follower.readout(arrival_ns))
        elif (blind := self._blind(fit)) is not None or fit is None:
            out.append(self._readout(arrival_ns, t_s, NO_ANGLES, blind or Doubt.NOT_FITTED))
        else:
            out.append(self._readout(arrival_ns, t_s, tilt_only(*self._idle, fit), Doubt.NO_ADDRESS))
        if self._wants_series:
            out.append(Series(arrival_ns=arrival_ns, moments=tuple(moments)))
        return out

    def _fit_of(self, tick: int) -> BodyFit | None:
        """The fit in force; a swing whose zero was taken with another is given up."""
        fit = self._fit.fit_at(tick)
        if fit is not self._measured_by:
            self._measured_by, self._swing = fit, None
        return fit

    def _between_swings(self, part: list[Pair], fit: BodyFit | None) -> list[Moment]:
        """Instants of the record that belong to no swing."""
        blind = self._blind(fit)
        if blind is not None or fit is None:
            return doubtful_moments([pair[0] for pair in part], blind or Doubt.NOT_FITTED)
        return idle_moments(part, self._kit.tracks, fit)

    def _blind(self, fit: BodyFit | None) -> Doubt | None:
        """Why not even elevations can be said between swings, if so."""
        if fit is None:
            return Doubt.NOT_FITTED
        watches = self._watches
        return Doubt.SENSOR_TURNED if watches is not None and watches.fit is fit and watches.turns.blind else None

    def _watching(self, fit: BodyFit) -> Watches:
        """Each fit has watches of its own."""
        if self._watches is None or self._watches.fit is not fit:
            self._watches = Watches(fit, self._fit.ups_at_address)
        return self._watches

    def _count(self, swing: FollowedSwing) -> None:
        """Count what reps a swing has brought."""
        if swing.follower.n_reps > self._n_reps and self._watches is not None:
            self._watches.grip.swung()
        self._n_reps = swing.follower.n_reps

    @property
    def _idle(self) -> tuple[Quat, Quat]:
        """Orientations of forearm and club with nothing known of an address."""
        return self._kit.tracks[Role.FOREARM].idle.q_earth_from_sensor, self._kit.tracks[
            Role.CLUB
        ].idle.q_earth_from_sensor

    def _renewed(self, arrival_ns: int, fit: BodyFit) -> list[Output]:
        """At the end of a tick: take a new zero where the golfer stands to the ball, and follow the swing from there.

        Whatever a swing seemed to be doing: who has come to rest over the ball begins a new one.
        """
        swing = self._swing
        if not self._recent:
            return []
        t_s = self._recent[-1][0]
        if swing is not None:
            if tick_of(t_s) % RENEW_TICKS:
                return []
            self._count(swing)
        found = self._address(fit, FIRST_REST_S if swing is None else ADDRESS_REST_S)
        if found is None:
            return []
        self._swing = found
        out = swing.close(arrival_ns) if swing is not None else []
        if swing is None or swing.follower.phase is not Phase.ADDRESS:
            out.append(PhaseChange(arrival_ns=arrival_ns, t_s=t_s, phase=Phase.ADDRESS))
        return out

    def _address(self, fit: BodyFit, rest_s: float) -> FollowedSwing | None:
        """Find a rest of both sensors that ends now, over the ball, and begin to follow the swing from its middle."""
        tracks, recent = self._kit.tracks, self._recent
        found = both_at_rest(recent, tracks, rest_s)
        if found is None:
            return None
        watches = self._watches
        if watches is not None:
            watches.turns.rested(found.end_s, found.ups)
        zero = zero_at(found, recent, tracks, fit)
        if zero is None:
            return None
        if found.end_s - self._last_bias_s > ADDRESS_REST_S - INSTANT_S:
            self._last_bias_s = found.end_s
            for role, rest in found.rests.items():
                tracks[role].learn(found.end_s, rest.mean_rate_rad_s, BODY_REST_RAD_S)
        if watches is not None:
            watches.grip.stood(zero.address)
        return follow(
            zero, recent[found.middle :], fit, self._desk, self.player,
            n_reps=self._n_reps, strikes=self._strikes, flags=watches.flags if watches is not None else (),
            wants_series=self._wants_series,
        )  # fmt: skip

    def _readout(self, arrival_ns: int, t_s: float, angles: Angles, doubt: Doubt) -> Readout:
        return Readout(
            arrival_ns=arrival_ns, t_s=t_s, phase=Phase.IDLE, angles=angles, doubt=doubt, pitch_doubt=doubt,
            since_rest_s=None,
        )  # fmt: skip
