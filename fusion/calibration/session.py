"""The fit of one practice: moves in, constants out, any move repeatable at any time."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from fusion.calibration.collect import Collected, MoveCollector, MoveMissed
from fusion.calibration.convert import vec_of
from fusion.calibration.fit import BodyFit, FitRejected
from fusion.calibration.model import ANYBODY
from fusion.calibration.moves import MoveTaken
from fusion.calibration.quality import report_of
from fusion.calibration.solve import solvable, solve_fit
from fusion.orientation.bias import BODY_REST_RAD_S, TABLE_REST_RAD_S
from fusion.orientation.track import SensorTrack
from fusion.outputs.fit import FitProgress, FitReason, FitReport, FitState
from fusion.rotation import Vec
from fusion.ticks import tick_of
from sensors.habit import Habit
from sensors.ids import Move, Role, Side
from sensors.profiles.base import Worn

WANTED = (Move.STILL, Move.NEUTRAL, Move.ROLL, Move.TWIRL, Move.LOCKED, Move.PALM, Move.ADDRESS)
"""The moves of a full fit, in the order in which they are best made."""
CORE = (Move.NEUTRAL, Move.ROLL, Move.TWIRL, Move.PALM, Move.ADDRESS)
"""With these there is a fit at once."""
_FREE_OF = {
    Role.FOREARM: (Move.STILL, Move.ATTITUDE, Move.TWIRL),
    Role.CLUB: (Move.STILL, Move.ATTITUDE, Move.ROLL, Move.PALM),
}
"""Moves that say the same however that sensor sits; `roll` says so much of the forearm and no more."""
KNOWN = (Move.PALM, Move.TWIRL, Move.NEUTRAL, Move.ROLL, Move.ADDRESS)
"""The moves that a player who is remembered needs, as strap and clip are new each time: the palm before the club is taken
up, then one grip from the roll to the address."""
FREES = (Move.NEUTRAL, Move.PALM, Move.LOCKED)
"""With these nothing remembered is counted on."""
_ZERO_SD_RAD_S = {
    Move.STILL: TABLE_REST_RAD_S,
    Move.NEUTRAL: BODY_REST_RAD_S,
    Move.PALM: BODY_REST_RAD_S,
    Move.ADDRESS: BODY_REST_RAD_S,
}
"""How nearly the gyroscopes read their zero in a move that is held, one standard deviation."""
IMPATIENT_S = 15.0
"""With fewer there is one when no more moves have come for so long."""
IN_FORCE_TICKS = 6
"""A fit counts from so many ticks after the samples that made it: a quarter of a second, more than a packet holds, so where
packets end does not matter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FitStatus:
    """Which moves are in, and whether they make a fit."""

    taken: tuple[Move, ...]
    complete: bool
    known: bool = False
    """The player is remembered, and so far nothing contradicts it: few moves are enough."""

    @property
    def due(self) -> tuple[Move, ...]:
        """The moves that are still wanted, in the order in which they are best made."""
        return tuple(move for move in (KNOWN if self.known else WANTED) if move not in self.taken)


class FitSession:
    """Collects moves; `fit` is None until there are enough and they fit together."""

    def __init__(self, habit: Habit | None = None) -> None:
        self.habit = habit
        """What is remembered of the player."""
        self.fit: BodyFit | None = None
        self.last_collected: Collected | None = None
        """What the move taken last was made from."""
        self._collector: MoveCollector | None = None
        self._taken: dict[Move, MoveTaken] = {}
        self._newest_s = -math.inf
        self._before: BodyFit | None = None
        self._from_tick = 0
        """From when on `fit` counts, and `_before` no more."""
        self.judged_s = 0.0
        """Session time of the newest sample that decided over the move that ended last."""
        self.worn: dict[Role, Worn | None] = {}
        """How each sensor is meant to sit."""
        self._report: FitReport | None = None
        self._renewing = False
        """A sensor has turned since `fit` was made, and moves are being made again."""

    def fit_at(self, tick: int) -> BodyFit | None:
        """The constants in force in a tick."""
        return self.fit if tick >= self._from_tick else self._before

    @property
    def complete(self) -> bool:
        """There is a fit, and no newer one is being made."""
        return self.fit is not None and not self._renewing

    @property
    def ups_at_address(self) -> dict[Role, Vec]:
        """Up in each sensor's axes in the address move; empty when that is not in."""
        taken = self._taken.get(Move.ADDRESS)
        if taken is None:
            return {}
        return {Role.FOREARM: vec_of(taken.up_forearm()), Role.CLUB: vec_of(taken.up_club())}

    @property
    def axes(self) -> dict[Role, Vec]:
        """What `roll` and `twirl` turned about, in sensor axes: forearm and shaft, either sense."""
        roll, twirl = self._taken.get(Move.ROLL), self._taken.get(Move.TWIRL)
        found = {Role.FOREARM: roll.forearm_axis if roll else None, Role.CLUB: twirl.club_axis if twirl else None}
        return {role: turning.axis_sensor for role, turning in found.items() if turning is not None}

    @property
    def status(self) -> FitStatus:
        """Which moves are in."""
        return FitStatus(
            taken=tuple(m for m in Move if m in self._taken), complete=self.complete, known=self.habit is not None
        )

    @property
    def led(self) -> bool:
        """Somebody may still be leading through the moves: not all that a fit needs are in."""
        return not self.complete or not all(move in self._taken for move in self._core)

    @property
    def _core(self) -> tuple[Move, ...]:
        return CORE if self.habit is None else KNOWN

    @property
    def collecting(self) -> bool:
        """A move is under way."""
        return self._collector is not None

    @property
    def may_fit(self) -> bool:
        """The next samples may bring a fit."""
        return self.collecting or (bool(self._taken) and not self.complete)

    def forget(self, role: Role, before_s: float) -> None:
        """A sensor turned: forget what it showed before. The fit stays in force until there is another."""
        for move, taken in list(self._taken.items()):
            if taken.t_s >= before_s:
                continue
            self._renewing = self._renewing or self.fit is not None
            if role is Role.CLUB and move is Move.ROLL:
                self._taken[move] = replace(taken, q_club=np.empty((0, 4)))
            elif move not in _FREE_OF[role]:
                del self._taken[move]

    def begin(self, arrival_ns: int, now_s: float, move: Move) -> FitProgress:
        """The golfer begins a move; one under way is given up for it."""
        self._collector = MoveCollector(move, now_s, known=self.habit is not None)
        self._newest_s = now_s
        return FitProgress(
            arrival_ns=arrival_ns, move=move, state=FitState.COLLECTING, complete=self.complete, report=self._report
        )

    def push(self, arrival_ns: int, role: Role, tracks: dict[Role, SensorTrack], side: Side) -> FitProgress | None:
        """Take in the block that the role's track was pushed last; news when the move ends one way or the other."""
        collector = self._collector
        if collector is None:
            return None
        collector.feed(role, tracks[role])
        return self._outcome(arrival_ns, collector.look(tracks), tracks, side)

    def end(
        self, arrival_ns: int, now_s: float, move: Move, tracks: dict[Role, SensorTrack], side: Side
    ) -> FitProgress | None:
        """The move's end is marked here."""
        collector = self._collector
        if collector is None or collector.move is not move:
            return None
        return self._outcome(arrival_ns, collector.end(now_s, tracks), tracks, side)

    def waited(self, arrival_ns: int, now_s: float, side: Side) -> FitProgress | None:
        """Make do with the moves there are, when no more seem to come; says once more of the last one, now with a fit."""
        if now_s - self._newest_s <= IMPATIENT_S:
            return None
        return self._make_do(arrival_ns, self._newest_s + IMPATIENT_S, side)

    def no_more(self, arrival_ns: int, side: Side) -> FitProgress | None:
        """Make do with the moves there are, as no more come; says as `waited` does."""
        return self._make_do(arrival_ns, self._newest_s, side)

    def _make_do(self, arrival_ns: int, judged_s: float, side: Side) -> FitProgress | None:
        if self.complete or self.collecting or not math.isfinite(judged_s):
            return None
        self.judged_s, self._newest_s = judged_s, math.inf
        taken = tuple(self._taken.values())
        if not solvable(taken):
            return None
        try:
            self._use(solve_fit(taken, side, Move.ADDRESS))
        except FitRejected as rejected:
            return self._rejected(arrival_ns, taken[-1].move, rejected)
        return self._accepted(arrival_ns, taken[-1])

    def _outcome(
        self,
        arrival_ns: int,
        outcome: Collected | MoveMissed | None,
        tracks: dict[Role, SensorTrack],
        side: Side,
    ) -> FitProgress | None:
        collector = self._collector
        if outcome is None or collector is None:
            return None
        move = collector.move
        self._collector = None
        self.judged_s = self._newest_s = collector.judged_s
        if isinstance(outcome, MoveMissed):
            return self._rejected(arrival_ns, move, outcome)
        self.last_collected = outcome
        zero_sd_rad_s = _ZERO_SD_RAD_S.get(move)
        if zero_sd_rad_s is not None:
            for role, rest in outcome.rests.items():
                tracks[role].learn(rest.end_s, rest.mean_rate_rad_s, zero_sd_rad_s)
        before, known = self._taken.get(move), self.habit is not None
        self._taken[move] = outcome.taken
        try:
            self._solve(move, side)
        except FitRejected as rejected:
            del self._taken[move]
            if before is not None:
                self._taken[move] = before
            return self._rejected(arrival_ns, move, rejected)
        unlike = known and self.habit is None
        return self._accepted(arrival_ns, outcome.taken, FitReason.UNLIKE_BEFORE if unlike else FitReason.NONE)

    def _accepted(self, arrival_ns: int, taken: MoveTaken, reason: FitReason = FitReason.NONE) -> FitProgress:
        return FitProgress(
            arrival_ns=arrival_ns, move=taken.move, state=FitState.TAKEN, reason=reason, measured=taken.measured,
            complete=self.complete, report=self._report,
        )  # fmt: skip

    def _rejected(self, arrival_ns: int, move: Move, why: MoveMissed | FitRejected) -> FitProgress:
        return FitProgress(
            arrival_ns=arrival_ns, move=move, state=FitState.REJECTED, reason=why.reason, measured=why.measured,
            limit=why.limit, complete=self.complete, report=self._report,
        )  # fmt: skip

    def _solve(self, newest: Move, side: Side) -> None:
        taken = self._taken
        if newest in (Move.STILL, Move.ATTITUDE):
            return
        if not self.complete and not all(needed in taken for needed in self._core):
            return
        everything = tuple(taken.values())
        if self._leans_on_habit:
            try:
                self._use(solve_fit(everything, side, newest, self.habit or ANYBODY))
            except FitRejected:  # the moves may be sound, and the player not as remembered
                self.habit = None
            else:
                return
        self._use(solve_fit(everything, side, newest))

    @property
    def _leans_on_habit(self) -> bool:
        return self.habit is not None and not all(move in self._taken for move in FREES)

    @property
    def habit_shown(self) -> Habit | None:
        """What the fit in force shows of the player, if it leant on nothing remembered and all that shows it was made."""
        fit = self.fit
        return fit.habit if fit is not None and all(move in fit.moves for move in (*CORE, *FREES)) else None

    def _use(self, fit: BodyFit) -> None:
        tick = tick_of(self.judged_s)
        self._before, self.fit, self._renewing = self.fit_at(tick), fit, False
        self._from_tick = tick + IN_FORCE_TICKS
        self._report = report_of(fit, self.worn)
