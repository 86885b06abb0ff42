"""Collecting the held poses: after the golfer begins a move, the first second of stillness is taken."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fusion.calibration.fit import PoseGravity
from fusion.orientation.rest import GRAVITY_TOLERANCE_M_S2, STANDARD_GRAVITY_M_S2, Rest, rest_of
from fusion.orientation.track import SensorTrack
from fusion.outputs import FitReason
from sensors.ids import Move, Role

HOLD_S = 1.0
PATIENCE_S = 8.0
"""Time to come to rest before the move is given up."""

_SPREAD_LIMIT_RAD_S = {
    Move.STILL: math.radians(6.0),
    Move.ARM_DOWN: math.radians(10.0),
    Move.ARM_LEVEL: math.radians(12.0),
    Move.CLUB_HANG: math.radians(15.0),
}
"""How much a pose may tremble, root mean square; an outstretched arm does more than a hanging one."""
_SENSORS_NEEDED = {
    Move.STILL: (Role.FOREARM, Role.CLUB),
    Move.ARM_DOWN: (Role.FOREARM, Role.CLUB),
    Move.ARM_LEVEL: (Role.FOREARM, Role.CLUB),
    Move.CLUB_HANG: (Role.CLUB,),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PoseTaken:
    """A pose was held: one rest a sensor."""

    rests: dict[Role, Rest]

    def gravity(self) -> PoseGravity:
        """Up in both sensors."""
        return PoseGravity(forearm=self.rests[Role.FOREARM].up_sensor, club=self.rests[Role.CLUB].up_sensor)


@dataclass(frozen=True, slots=True, kw_only=True)
class PoseMissed:
    """A pose was not held; measured and limit in the reason's unit."""

    reason: FitReason
    measured: float | None = None
    limit: float | None = None


class PoseCollector:
    """One move being collected."""

    def __init__(self, move: Move, start_s: float) -> None:
        self.move = move
        self._start_s = start_s
        self._best_spread_rad_s = math.inf
        self._force_off_m_s2: float | None = None

    def advance(self, now_s: float, tracks: dict[Role, SensorTrack]) -> PoseTaken | PoseMissed | None:
        """Look at the last second of data up to session time `now_s`; None while still waiting."""
        if now_s - self._start_s >= HOLD_S:
            rests = self._rests(now_s, tracks)
            if rests is not None and self._good(rests):
                return PoseTaken(rests=rests)
        if now_s - self._start_s > PATIENCE_S:
            return self._missed()
        return None

    def _rests(self, now_s: float, tracks: dict[Role, SensorTrack]) -> dict[Role, Rest] | None:
        rests = {}
        for role in _SENSORS_NEEDED[self.move]:
            track = tracks.get(role)
            window = track.window(now_s - HOLD_S - 0.06, now_s) if track else None
            if window is None:
                return None
            rests[role] = rest_of(window)
        return rests

    def _good(self, rests: dict[Role, Rest]) -> bool:
        spread = max(rest.rate_spread_rad_s for rest in rests.values())
        self._best_spread_rad_s = min(self._best_spread_rad_s, spread)
        if spread > _SPREAD_LIMIT_RAD_S[self.move]:
            return False
        off = max(abs(rest.force_m_s2 - STANDARD_GRAVITY_M_S2) for rest in rests.values())
        self._force_off_m_s2 = off
        return off <= GRAVITY_TOLERANCE_M_S2

    def _missed(self) -> PoseMissed:
        if self._force_off_m_s2 is not None and self._force_off_m_s2 > GRAVITY_TOLERANCE_M_S2:
            return PoseMissed(reason=FitReason.NOT_GRAVITY, measured=self._force_off_m_s2, limit=GRAVITY_TOLERANCE_M_S2)
        if math.isinf(self._best_spread_rad_s):
            return PoseMissed(reason=FitReason.NO_DATA)
        return PoseMissed(
            reason=FitReason.MOVING,
            measured=math.degrees(self._best_spread_rad_s),
            limit=math.degrees(_SPREAD_LIMIT_RAD_S[self.move]),
        )
