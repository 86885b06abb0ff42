"""What is worn where: the pair's sensors, how the orientation of each goes on, and the calibration in force for each."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from fusion.calibration.trim.result import Rejection
from fusion.calibration.trimming import Trimming
from fusion.orientation.bias import INITIAL_RAD_S
from fusion.orientation.track import SensorTrack
from fusion.outputs.fit import FitProgress, FitReason, FitState, TrimFound
from fusion.outputs.instant import Doubt
from fusion.swing.follower import SwingFollower
from sensors.events import SensorInfo, TrimSet
from sensors.ids import PAIR, Move, Role, SensorId
from sensors.profiles.base import Worn
from sensors.profiles.registry import profile_of
from sensors.readings import ImuBlock
from sensors.trim import Trim

TRIM_MOVES = (Move.STILL, Move.ATTITUDE)
_FRESH_OFFSET_RAD_S = math.radians(0.05)
"""How far a gyroscope's offset may have wandered since a calibration made in this practice."""
_STORED_OFFSET_RAD_S = 0.5 * INITIAL_RAD_S
"""The same since a stored one: warmth moves it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PutOn:
    """A sensor has been put on a place of the pair, or taken off one, that it was not in before."""

    taken_off: tuple[Role, ...] = ()
    """Places that it was moved from."""
    role: Role | None = None
    """Where it is now, if that is a place of the pair."""
    exchanged: bool = False
    """Another one was worn there before."""
    worn: Worn | None = None
    """How its kind is meant to sit."""


class Kit:
    """Sensors worn elsewhere may introduce themselves: they are no part of it."""

    def __init__(self, *, keeps_idle: bool = False) -> None:
        self._keeps_idle = keeps_idle
        """Orientations between swings are wanted for every sample."""
        self.sensors: dict[Role, SensorId] = {}
        self.tracks: dict[Role, SensorTrack] = {}
        self._trimmings: dict[Role, Trimming] = {}
        self._trims: dict[SensorId, tuple[Trim, float]] = {}
        """The calibration in force for each sensor, wherever it is worn, and how far its offset may have wandered since."""

    def introduce(self, info: SensorInfo) -> PutOn | None:
        """A sensor that comes back goes on where it was: None. Another one in its place has to be fitted anew."""
        before = self.sensors.get(info.role)
        if before == info.sensor:
            return None
        taken_off = tuple(role for role, sensor in self.sensors.items() if sensor == info.sensor)
        for role in taken_off:
            del self.sensors[role], self.tracks[role], self._trimmings[role]
        if info.role not in PAIR:
            return PutOn(taken_off=taken_off)
        self.sensors[info.role] = info.sensor
        profile = profile_of(info)
        self.tracks[info.role] = SensorTrack(profile.nominal_rate_hz, keeps_idle=self._keeps_idle)
        self._trimmings[info.role] = Trimming(profile.nominal_rate_hz)
        if info.sensor in self._trims:
            self.tracks[info.role].use(*self._trims[info.sensor])
        if before is not None:
            self.tracks[info.role].restart()
        return PutOn(taken_off=taken_off, role=info.role, exchanged=before is not None, worn=profile.worn)

    def push(self, role: Role, block: ImuBlock) -> None:
        """A calibration that is being made sees every block."""
        self._trimmings[role].push(block)

    def stored_trim(self, event: TrimSet) -> None:
        """A calibration made in an earlier practice comes into force."""
        self._trims[event.sensor] = (event.trim, _STORED_OFFSET_RAD_S)
        for role, sensor in self.sensors.items():
            if sensor == event.sensor:
                self._use(role, event.trim, _STORED_OFFSET_RAD_S)

    def begin_trim(self, start_s: float) -> None:
        """A move of the calibration begins."""
        for trimming in self._trimmings.values():
            trimming.begin(start_s)

    def end_trim(self, progress: FitProgress, end_s: float) -> tuple[FitProgress, list[TrimFound]]:
        """It was over at `end_s`: what it brings, and the news of it as they are now."""
        found: list[TrimFound] = []
        taken = progress.state is FitState.TAKEN
        for role, trimming in self._trimmings.items():
            result = trimming.end(progress.move, end_s, taken=taken)
            if result is not None and result.rejection is not None:
                progress = _spoilt(progress, result.rejection)
            if result is None or result.trim is None or result.figures is None:
                continue
            if not result.complete and result.trim.gyr_scale_sd >= self.tracks[role].trim.gyr_scale_sd:
                continue  # what is in force, perhaps stored, is better
            self._use(role, result.trim, _FRESH_OFFSET_RAD_S)
            if result.complete:
                found.append(TrimFound(arrival_ns=progress.arrival_ns, sensor=self.sensors[role], trim=result.trim))
        return progress, found

    @property
    def trouble_s(self) -> float:
        """When an orientation last ceased to be followed."""
        return max(max(track.saturated_s, track.broken_s) for track in self.tracks.values())

    def faults(self, follower: SwingFollower) -> Doubt:
        """Why the angles of a swing cannot be trusted, if so; what happened before its address is over."""
        if follower.doubt is not Doubt.NONE:
            return follower.doubt
        since_s, doubt = follower.address_s, Doubt.NONE
        for track in self.tracks.values():
            if track.saturated_s > since_s:
                return Doubt.SATURATED
            if track.broken_s > since_s:
                doubt = Doubt.GAP
        return doubt

    def _use(self, role: Role, trim: Trim, offset_sd_rad_s: float) -> None:
        self._trims[self.sensors[role]] = (trim, offset_sd_rad_s)
        self.tracks[role].use(trim, offset_sd_rad_s)


def _spoilt(progress: FitProgress, rejection: Rejection) -> FitProgress:
    """Say that an attitude does not fit the others; that there are few as yet is no fault of it."""
    if rejection.reason is not FitReason.POOR_TRIM:
        return progress
    return replace(
        progress, state=FitState.REJECTED, reason=rejection.reason, measured=rejection.measured, limit=rejection.limit
    )
