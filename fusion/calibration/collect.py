"""Collecting one fit move: a held one is taken as soon as a second of it was still, a moving one when enough was turned.

With a mark at its end (`MoveEnd`) a move is judged by what had been measured until shortly before; without one the program
decides. It looks on a grid in time and at nothing beyond, so where packets end moves nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fusion.calibration.axis import TurningAxis, turning_axis
from fusion.calibration.gathered import Gathered
from fusion.calibration.moves import MoveTaken
from fusion.calibration.skew import skew_of
from fusion.orientation.rest import GRAVITY_TOLERANCE_M_S2, STANDARD_GRAVITY_M_S2, Rest, rest_of
from fusion.orientation.track import SensorTrack
from fusion.orientation.window import Window
from fusion.outputs.fit import FitReason
from fusion.rotation import Quat
from fusion.ticks import tick_end_s, tick_of
from sensors.ids import PAIR, Move, Role

HOLD_S = 1.0
SHORTEST_HOLD_S = 0.4
"""Enough when the move's end is marked: half a second but for what had not come by then."""
_ROUNDING_S = 1e-6
PATIENCE_S = 10.0
"""Time allowed for a held move."""
NOT_BEGUN_S = 30.0
"""The same for a moving one to begin: nobody is refused for being slow, and who has gone away may come back."""
TURNING_S = 4.0
"""A moving one is long enough after this, once it comes to rest."""
TURNING_KNOWN_S = 2.5
"""The same of a player who is remembered: two turns to and fro show enough."""
LONGEST_S = 8.0
LINGERS_S = 3.0
"""A motion too small for the move was perhaps the way to it: the golfer may rest so long before it comes."""
_LOOK_TICKS = 2
_ARRIVED_S = 0.1
"""What was measured so long before the mark of a move's end has come: no packet holds more."""
N_HELD, N_MOVING = 3, 12
"""Instants kept of a move."""

HELD = (Move.STILL, Move.ATTITUDE, Move.NEUTRAL, Move.PALM, Move.ADDRESS)
_SPREAD_LIMIT_RAD_S = {
    Move.STILL: math.radians(3.0),
    Move.ATTITUDE: math.radians(10.0),
    Move.NEUTRAL: math.radians(12.0),
    Move.PALM: math.radians(12.0),
    Move.ADDRESS: math.radians(10.0),
}
"""How much a held move may tremble, root mean square."""
_CLUB_ASIDE = (Move.PALM,)
"""Moves without the club in the hand."""
_PATH_RAD = {
    Move.BEND: math.radians(90.0),
    Move.HINGE: math.radians(45.0),
    Move.ROLL: math.radians(120.0),
    Move.TWIRL: math.radians(180.0),
    Move.LOCKED: math.radians(120.0),
}
"""Least angle to be turned in all, by the sensor that the move is about."""
_TURNS = {
    Move.BEND: Role.CLUB, Move.HINGE: Role.CLUB, Move.ROLL: Role.FOREARM, Move.TWIRL: Role.CLUB, Move.LOCKED: Role.FOREARM,
}  # fmt: skip
_ONE_AXIS = {Move.ROLL: 0.45, Move.TWIRL: 0.45}
"""Rate across the axis over rate about it that is still one axis."""
_AS_ONE = (Move.ROLL, Move.LOCKED)
"""The wrist is held while the arm moves: they show the lag between the two sensors' stamps."""
_CALM_RAD_S = math.radians(12.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveMissed:
    """A move was not made; measured and limit in the reason's unit."""

    reason: FitReason
    measured: float | None = None
    limit: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Collected:
    """An accepted move, with the rests or stretches it was made from."""

    taken: MoveTaken
    rests: dict[Role, Rest]
    middle_s: float
    """Session time in its middle."""


class MoveCollector:
    """One move being collected."""

    def __init__(self, move: Move, start_s: float, *, known: bool = False) -> None:
        self.move = move
        self._turning_s = TURNING_KNOWN_S if known else TURNING_S
        self._start_s = start_s
        self._gathered = Gathered(start_s)
        self._tick = tick_of(start_s)
        """All before it has been looked at."""
        self._watched_s = start_s
        self._path_rad = dict.fromkeys(PAIR, 0.0)
        self._moving_s: float | None = None
        self._lingers = False
        """It moved too little, and rests."""
        self._calm_since_s = start_s
        self._best_spread_rad_s = math.inf
        self._force_off_m_s2 = 0.0

    @property
    def judged_s(self) -> float:
        """Session time of the newest sample that has been looked at."""
        return self._watched_s

    def feed(self, role: Role, track: SensorTrack) -> None:
        """Take in the block that `track` was pushed last."""
        self._gathered.push(role, track)

    def look(self, tracks: dict[Role, SensorTrack]) -> Collected | MoveMissed | None:
        """Judge what has come so far. None while still waiting."""
        return self._look(self._gathered.reach_s(self._roles()), tracks)

    def end(self, end_s: float, tracks: dict[Role, SensorTrack]) -> Collected | MoveMissed:
        """Judge the move: its end is marked at `end_s`."""
        last_s = end_s - _ARRIVED_S
        outcome = self._look(last_s, tracks)
        if outcome is not None:
            return outcome
        self._watch(last_s, tracks)
        if self.move in HELD:
            return self._marked_hold(last_s, tracks)
        return self._moved(last_s, tracks)

    def _look(self, until_s: float, tracks: dict[Role, SensorTrack]) -> Collected | MoveMissed | None:
        while (at_s := tick_end_s(self._tick)) <= until_s:
            self._tick += 1
            if self._tick % _LOOK_TICKS:
                continue
            self._watch(at_s, tracks)
            outcome = self._held(at_s, tracks) if self.move in HELD else self._moving(at_s, tracks)
            if outcome is not None:
                return outcome
        return None

    def _watch(self, until_s: float, tracks: dict[Role, SensorTrack]) -> None:
        """Add up what was turned since the last look."""
        speeds = {role: self._gathered.speeds(role, self._watched_s, until_s) for role in PAIR}
        self._watched_s = until_s
        fast_s = [t_s[size > _CALM_RAD_S] for t_s, size in speeds.values()]
        if any(len(times) for times in fast_s):
            if self._lingers:
                self._start_over(float(min(times[0] for times in fast_s if len(times))))
            self._calm_since_s = float(max(times[-1] for times in fast_s if len(times)))
        for role, (t_s, size) in speeds.items():
            if role in tracks:
                self._path_rad[role] += float(size[t_s >= self._start_s].sum()) * tracks[role].usual_s
        if self._moving_s is None and max(self._path_rad.values()) > math.radians(20.0):
            self._moving_s = until_s

    def _start_over(self, start_s: float) -> None:
        """What was before was the way to the move."""
        self._start_s, self._moving_s, self._lingers = start_s, None, False
        self._path_rad = dict.fromkeys(PAIR, 0.0)

    def _roles(self) -> tuple[Role, ...]:
        return (Role.FOREARM,) if self.move in _CLUB_ASIDE else (Role.FOREARM, Role.CLUB)

    def _held(self, at_s: float, tracks: dict[Role, SensorTrack]) -> Collected | MoveMissed | None:
        if at_s - self._start_s < HOLD_S:
            return None
        taken = self._hold(at_s, HOLD_S, tracks)
        return self._unheld() if taken is None and at_s - self._start_s > PATIENCE_S else taken

    def _marked_hold(self, last_s: float, tracks: dict[Role, SensorTrack]) -> Collected | MoveMissed:
        """The last stretch of a marked move that was still, a long one rather than a short one."""
        for hold_s in (HOLD_S, SHORTEST_HOLD_S):
            for at_s in np.arange(last_s, self._start_s + hold_s - _ROUNDING_S, -0.1):
                taken = self._hold(float(at_s), hold_s, tracks)
                if taken is not None:
                    return taken
        return self._unheld()

    def _hold(self, at_s: float, hold_s: float, tracks: dict[Role, SensorTrack]) -> Collected | None:
        windows = self._gathered.windows(self._roles(), at_s - hold_s, at_s, least_s=0.8 * hold_s)
        if windows is None:
            return None
        rests = {role: rest_of(window) for role, window in windows.items()}
        return self._taken(at_s, tracks, rests, windows, None) if self._good(rests) else None

    def _moving(self, at_s: float, tracks: dict[Role, SensorTrack]) -> Collected | MoveMissed | None:
        if self._moving_s is None:
            return self._too_little() if at_s - self._start_s > NOT_BEGUN_S else None
        rested_s = at_s - self._calm_since_s
        came_to_rest = at_s - self._moving_s > self._turning_s and rested_s > 0.3
        if not came_to_rest and at_s - self._moving_s < LONGEST_S:
            return None
        if came_to_rest and rested_s < LINGERS_S and max(self._path_rad.values()) < _PATH_RAD[self.move]:
            self._lingers = True
            return None
        return self._moved(at_s, tracks)

    def _moved(self, at_s: float, tracks: dict[Role, SensorTrack]) -> Collected | MoveMissed:
        windows = self._gathered.windows(self._roles(), self._start_s, at_s, least_s=1.0)
        if windows is None:
            return MoveMissed(reason=FitReason.NO_DATA)
        axes = {role: turning_axis(w.device_s, self._gathered.unbiased(role, w)) for role, w in windows.items()}
        fault = self._fault(axes)
        if fault is not None:
            return fault
        rests = {role: rest_of(window) for role, window in windows.items()}
        return self._taken(at_s, tracks, rests, windows, axes)

    def _fault(self, axes: dict[Role, TurningAxis]) -> MoveMissed | None:
        """Find what is wrong with a move that turned; None if nothing is."""
        about = _TURNS[self.move]
        other = Role.CLUB if about is Role.FOREARM else Role.FOREARM
        if self.move is Move.TWIRL and self._path_rad[other] > max(2.0 * self._path_rad[about], _PATH_RAD[self.move]):
            return MoveMissed(
                reason=FitReason.SWAPPED,
                measured=math.degrees(self._path_rad[other]),
                limit=math.degrees(self._path_rad[about]),
            )
        if self._path_rad[about] < _PATH_RAD[self.move]:
            return self._too_little()
        limit = _ONE_AXIS.get(self.move)
        if limit is not None and axes[about].wobble > limit:
            return MoveMissed(
                reason=FitReason.NOT_ONE_AXIS,
                measured=math.degrees(math.atan(axes[about].wobble)),
                limit=math.degrees(math.atan(limit)),
            )
        return None

    def _good(self, rests: dict[Role, Rest]) -> bool:
        spread = max(rest.rate_spread_rad_s for rest in rests.values())
        self._best_spread_rad_s = min(self._best_spread_rad_s, spread)
        if spread > _SPREAD_LIMIT_RAD_S[self.move]:
            return False
        self._force_off_m_s2 = max(abs(rest.force_m_s2 - STANDARD_GRAVITY_M_S2) for rest in rests.values())
        return self._force_off_m_s2 <= GRAVITY_TOLERANCE_M_S2

    def _taken(
        self,
        at_s: float,
        tracks: dict[Role, SensorTrack],
        rests: dict[Role, Rest],
        windows: dict[Role, Window],
        axes: dict[Role, TurningAxis] | None,
    ) -> Collected:
        forearm, club = windows[Role.FOREARM], windows.get(Role.CLUB)
        skew = skew_of(forearm, club) if self.move in _AS_ONE and club is not None else None
        start_s = max(w.t_s[0] for w in windows.values())
        end_s = min(w.t_s[-1] for w in windows.values())
        instants_s = np.linspace(start_s, end_s, (N_MOVING if axes else N_HELD) + 2)[1:-1]
        level = {role: tracks[role].levelled(rest.up_free) for role, rest in rests.items()}
        spread = max(rest.rate_spread_rad_s for rest in rests.values())
        about = axes[_TURNS[self.move]] if axes else None
        return Collected(
            taken=MoveTaken(
                move=self.move,
                t_s=at_s,
                n_breaks=sum(track.n_breaks for track in tracks.values()),
                q_forearm=_levelled(level[Role.FOREARM], forearm, instants_s),
                q_club=_levelled(level[Role.CLUB], club, instants_s + (skew.late_s if skew is not None else 0.0))
                if club is not None
                else np.empty((0, 4)),
                turn_forearm_rad=np.stack(
                    [np.interp(instants_s, forearm.t_s, forearm.turn_rad[:, i]) for i in range(3)], axis=1
                ),
                forearm_axis=axes[Role.FOREARM] if axes else None,
                club_axis=axes.get(Role.CLUB) if axes else None,
                skew=skew,
                drift_sd_rad_s=math.hypot(*(tracks[role].bias.sd_rad_s for role in PAIR if role in tracks)),
                measured=math.degrees(math.atan(about.wobble)) if about else math.degrees(spread),
            ),
            rests=rests,
            middle_s=float(start_s + end_s) / 2,
        )

    def _unheld(self) -> MoveMissed:
        if math.isinf(self._best_spread_rad_s):
            return MoveMissed(reason=FitReason.NO_DATA)
        if self._force_off_m_s2 > GRAVITY_TOLERANCE_M_S2:
            return MoveMissed(reason=FitReason.NOT_GRAVITY, measured=self._force_off_m_s2, limit=GRAVITY_TOLERANCE_M_S2)
        return MoveMissed(
            reason=FitReason.MOVING,
            measured=math.degrees(self._best_spread_rad_s),
            limit=math.degrees(_SPREAD_LIMIT_RAD_S[self.move]),
        )

    def _too_little(self) -> MoveMissed:
        about = _TURNS[self.move]
        if not self._gathered.of(about):
            return MoveMissed(reason=FitReason.NO_DATA)
        return MoveMissed(
            reason=FitReason.TOO_LITTLE, measured=math.degrees(self._path_rad[about]),
            limit=math.degrees(_PATH_RAD[self.move]),
        )  # fmt: skip


def _levelled(level: Quat, window: Window, at_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """q_level_from_sensor at given times, shape (n, 4), by linear interpolation between samples."""
    q = window.q_free_from_sensor
    q = q * np.where(np.cumprod(np.sign(np.r_[1.0, np.einsum("ij,ij->i", q[1:], q[:-1])])) < 0, -1.0, 1.0)[:, None]
    at = np.stack([np.interp(at_s, window.t_s, q[:, i]) for i in range(4)], axis=1)
    at /= np.linalg.norm(at, axis=1, keepdims=True)
    w, x, y, z = level
    left = np.array([[w, -x, -y, -z], [x, w, -z, y], [y, z, w, -x], [z, -y, x, w]])
    return np.asarray(at @ left.T)
