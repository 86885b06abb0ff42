"""Finding the zero of a swing: a rest of both sensors that ends now, over the ball."""

from __future__ import annotations

import bisect
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fusion.address import Address, Stance, may_address, take_address, wrist_heading
from fusion.calibration.fit import BodyFit
from fusion.orientation.rest import MOST_TURN_RAD_S, STANDARD_GRAVITY_M_S2, Rest, calm_rest
from fusion.orientation.track import SensorTrack
from fusion.orientation.vertical import REACH_S, vertical_of
from fusion.orientation.window import INSTANT_S
from fusion.pairing import Pair
from fusion.rotation import Quat, angle, dot, relative, rotate
from fusion.spread import ZeroInputs
from sensors.ids import PAIR, Role

_MIDDLE_OFF_S = 0.05
"""An instant must lie so near to the middle of the rest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BothAtRest:
    """A rest of both sensors."""

    end_s: float
    middle: int
    """Index of the instant in its middle, among the recent ones."""
    rests: dict[Role, Rest]

    @property
    def ups(self) -> dict[Role, tuple[float, float, float]]:
        """Up in each sensor's axes."""
        return {role: rest.up_sensor for role, rest in self.rests.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Zero:
    """An address, with what it was taken from."""

    address: Address
    inputs: ZeroInputs


def both_at_rest(recent: Sequence[Pair], tracks: Mapping[Role, SensorTrack], rest_s: float) -> BothAtRest | None:
    """Find a rest of both sensors that ends at the newest of the recent instants."""
    end_s = recent[-1][0]
    first = recent[_from(recent, end_s - rest_s)]
    turns = (relative(first[1], recent[-1][1]), relative(first[2], recent[-1][2]))
    if max(angle(turn) for turn in turns) > MOST_TURN_RAD_S * rest_s:
        return None
    rests: dict[Role, Rest] = {}
    for role, track in tracks.items():
        window = track.window(end_s - rest_s, end_s)
        if window is None:
            return None
        rest = calm_rest(window, track.bias.bias_rad_s)
        if rest is None:
            return None
        rests[role] = rest
    middle = _from(recent, end_s - rest_s / 2)
    if len(rests) < len(PAIR) or recent[middle][0] - (end_s - rest_s / 2) > _MIDDLE_OFF_S:
        return None
    return BothAtRest(end_s=end_s, middle=middle, rests=rests)


def _from(recent: Sequence[Pair], start_s: float) -> int:
    """Index of the first instant at or after a time."""
    return bisect.bisect_left(recent, start_s - INSTANT_S, key=lambda pair: pair[0])


def zero_at(found: BothAtRest, recent: Sequence[Pair], tracks: Mapping[Role, SensorTrack], fit: BodyFit) -> Zero | None:
    """Take the zero in the middle of a rest; None if that is no address.

    Not at its end: a takeaway that creeps off is within a rest's limits for its first tenth of a second.
    """
    t_s, q_forearm, q_club, _, _ = recent[found.middle]
    if not may_address(dot(rotate(q_club, fit.shaft_sensor), found.rests[Role.CLUB].up_free)):
        return None
    levels: list[Quat] = []
    tilts: list[float] = []
    for role in (Role.FOREARM, Role.CLUB):
        track = tracks[role]
        window = track.recent(REACH_S, found.end_s)
        if window is None:
            return None
        vertical = vertical_of(window, track.bias.bias_rad_s, track.bias.sd_rad_s)
        levels.append(track.levelled(vertical.up_free))
        tilts.append(math.hypot(vertical.sd_rad, track.trim.acc_sd_m_s2 / STANDARD_GRAVITY_M_S2))
    stance = Stance(t_s=t_s, q_free=(q_forearm, q_club), q_level_from_free=(levels[0], levels[1]))
    heading = wrist_heading(stance, fit)
    address = take_address(stance, fit, heading) if heading is not None else None
    if address is None:
        return None
    inputs = ZeroInputs(
        stance=stance,
        tilt_sd_rad=(tilts[0], tilts[1]),
        bias_sd_rad_s=max(track.bias.sd_rad_s for track in tracks.values()),
        gyr_scale_sd=max(track.trim.gyr_scale_sd for track in tracks.values()),
    )
    return Zero(address=address, inputs=inputs)
