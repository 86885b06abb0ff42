"""The fit of one practice: moves in, constants out, any move repeatable at any time."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fusion.calibration.fit import BodyFit, FitRejected, fit_body
from fusion.calibration.poses import PoseCollector, PoseMissed, PoseTaken
from fusion.orientation.bias import TABLE_REST_RAD_S
from fusion.orientation.track import SensorTrack
from fusion.outputs import FitProgress, FitReason, FitState
from sensors.ids import Move, Role, Side

NEEDED = (Move.STILL, Move.ARM_DOWN, Move.ARM_LEVEL, Move.CLUB_HANG)


@dataclass(frozen=True, slots=True, kw_only=True)
class FitStatus:
    """Which moves are in, and whether they make a fit."""

    taken: tuple[Move, ...]
    complete: bool


class FitSession:
    """Collects moves; `fit` is None until all are in and fit together."""

    def __init__(self) -> None:
        self.fit: BodyFit | None = None
        self._collector: PoseCollector | None = None
        self._taken: dict[Move, PoseTaken] = {}

    @property
    def status(self) -> FitStatus:
        """Which moves are in."""
        return FitStatus(taken=tuple(m for m in NEEDED if m in self._taken), complete=self.fit is not None)

    @property
    def collecting(self) -> bool:
        """A move is under way."""
        return self._collector is not None

    def begin(self, arrival_ns: int, now_s: float, move: Move) -> FitProgress:
        """The golfer begins a move; one under way is given up for it."""
        self._collector = PoseCollector(move, now_s)
        return FitProgress(arrival_ns=arrival_ns, move=move, state=FitState.COLLECTING)

    def advance(self, arrival_ns: int, now_s: float, tracks: dict[Role, SensorTrack], side: Side) -> FitProgress | None:
        """Look at the data up to `now_s`; news when the move ends one way or the other."""
        collector = self._collector
        outcome = collector.advance(now_s, tracks) if collector else None
        if collector is None or outcome is None:
            return None
        self._collector = None
        if isinstance(outcome, PoseMissed):
            return FitProgress(
                arrival_ns=arrival_ns, move=collector.move, state=FitState.REJECTED, reason=outcome.reason,
                measured=outcome.measured, limit=outcome.limit, complete=self.fit is not None,
            )  # fmt: skip
        if collector.move is Move.STILL:
            for role, rest in outcome.rests.items():
                tracks[role].bias.rest(rest.end_s, rest.mean_rate_rad_s, TABLE_REST_RAD_S)
        self._taken[collector.move] = outcome
        return self._solved(arrival_ns, collector.move, side)

    def _solved(self, arrival_ns: int, move: Move, side: Side) -> FitProgress:
        """Solve once all poses are in; poses that contradict each other reject the newest."""
        taken = self._taken
        if all(needed in taken for needed in NEEDED):
            try:
                self.fit = fit_body(
                    arm_down=taken[Move.ARM_DOWN].gravity(),
                    arm_level=taken[Move.ARM_LEVEL].gravity(),
                    club_hang=taken[Move.CLUB_HANG].rests[Role.CLUB].up_sensor,
                    side=side,
                )
            except FitRejected as rejected:
                del taken[move]
                return FitProgress(
                    arrival_ns=arrival_ns, move=move, state=FitState.REJECTED, reason=rejected.reason,
                    measured=math.degrees(rejected.measured_rad), limit=math.degrees(rejected.limit_rad),
                    complete=self.fit is not None,
                )  # fmt: skip
        return FitProgress(
            arrival_ns=arrival_ns, move=move, state=FitState.TAKEN, reason=FitReason.NONE,
            complete=self.fit is not None,
        )  # fmt: skip
