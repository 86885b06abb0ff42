"""How uncertain each quantity is: the same computation over the ways in which fit and address may be wrong.

One copy of the swing is followed for every independent way, each one standard deviation off, from the zero at
address onward (so what an error does to the heading is in it); their squared differences from the undisturbed copy add up.
What no copy shows is added in closed form:

    bias        its standard deviation times the time since rest, on both sensors
    gyro scale  its standard deviation times the angle turned since rest
    body        slip of the grip, play of the wrist, skin: `BODY_SD_RAD` by a quarter turn of the arm, and it does not go back
                as the arm does; simulation, no source
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from operator import attrgetter
from typing import Final, NamedTuple

from fusion.address import Address, Stance, take_address, wrist_heading
from fusion.calibration.fit import BodyFit
from fusion.joints.settling import HEADING_SD_RAD, PLAY_SD_RAD
from fusion.measure import Instant, SwingMeasure
from fusion.outputs.instant import Angles, Spread
from fusion.pairing import Pair
from fusion.rotation import exp, mul
from fusion.shaft.butt_line import HUB_SD_M, ButtLine
from fusion.swing_angles import SwingAngles

BODY_SD_RAD = math.radians(1.0)
SKIN_SHARE = 0.05
"""Share of the forearm's roll that skin may not follow."""
OTHER_SD_RAD = math.radians(0.35)
"""What is not modelled (cross-axis sensitivity, the low-pass of the part, a rest that was none), for what the club alone shows:
makes the stated error of elevation cover the error found on the independent model (docs/accuracy.md)."""
TRUSTED_RAD: Final = math.radians(20.0)
"""An angle known no better than this is not shown."""
_ANGLES: Final = (
    "bend_rad", "bend_change_rad", "hinge_rad", "hinge_change_rad", "roll_change_rad", "shaft_elevation_rad",
    "shaft_pitch_rad", "face_twist_rad",
)  # fmt: skip
_SDS: Final = attrgetter(*_ANGLES)


@dataclass(frozen=True, slots=True, kw_only=True)
class ZeroInputs:
    """What an address was taken from, so that it can be taken again a little wrong."""

    stance: Stance
    tilt_sd_rad: tuple[float, float]
    """Of forearm and club sensor."""
    bias_sd_rad_s: float
    gyr_scale_sd: float


class Known(NamedTuple):
    """How well everything is known at an instant."""

    t_s: float
    spread: Spread
    arm_sd_rad: float
    """Of the forearm's elevation, by which the mark of the level arm is dated."""


class Spreads:
    """One swing's copies. `at` must be given instants in order; it need not be given all."""

    def __init__(self, inputs: ZeroInputs, address: Address, fit: BodyFit, butt: ButtLine) -> None:
        self._inputs = inputs
        self._butt = butt
        self._base = SwingMeasure(address, fit, butt)
        self._copies = [
            SwingAngles(other, other_fit, butt)
            for other, other_fit in _ways(inputs, fit)
            if other is not None
        ]  # fmt: skip
        self._copies.append(SwingAngles(address, fit, butt, play_rad=PLAY_SD_RAD))
        self._most_turn_rad = 0.0

    def at(self, pair: Pair) -> Known:
        """How well everything is known at an instant."""
        base = self._base.push(pair)
        copies = [copy.push(pair) for copy in self._copies]
        return self._sum(base, copies)

    def _sum(self, base: Instant, copies: Sequence[Angles]) -> Known:
        inputs, angles = self._inputs, base.angles
        since_s = base.t_s - inputs.stance.t_s
        drift = inputs.bias_sd_rad_s * since_s
        scale = inputs.gyr_scale_sd
        club, arm = scale * base.club_turn_rad, scale * base.arm_turn_rad
        self._most_turn_rad = max(self._most_turn_rad, base.arm_turn_rad)
        body = BODY_SD_RAD * min(self._most_turn_rad / (math.pi / 2), 1.0)
        wrist = math.hypot(math.sqrt(2.0) * drift, club, arm, body)
        roll = SKIN_SHARE * abs(angles.roll_change_rad or 0.0)
        shaft = math.hypot(drift, club, OTHER_SD_RAD)
        more = {
            "bend_rad": wrist, "bend_change_rad": wrist, "hinge_rad": wrist, "hinge_change_rad": wrist,
            "roll_change_rad": math.hypot(drift, arm, roll, 0.5 * body), "shaft_elevation_rad": shaft,
            "shaft_pitch_rad": shaft, "face_twist_rad": math.hypot(drift, club),
        }  # fmt: skip
        others = dict(zip(Angles._fields, zip(*copies, strict=True), strict=True)) if copies else _NO_OTHERS
        level = angles.arm_elevation_rad
        levels = [v - level for v in others["arm_elevation_rad"] if v is not None] if level is not None else []
        sds: dict[str, float | None] = {}
        for name in _ANGLES:
            value = getattr(angles, name)
            if value is None:
                sds[name] = None
                continue
            off = [math.remainder(v - value, math.tau) for v in others[name] if v is not None]
            sds[name] = math.hypot(more[name], *off)
        butt_m = angles.butt_line_m
        if butt_m is not None:
            off = [v - butt_m for v in others["butt_line_m"] if v is not None]
            sds["butt_line_m"] = math.hypot(HUB_SD_M, self._butt.sd_m, *off)
        return Known(base.t_s, Spread(**sds), math.hypot(drift, arm, OTHER_SD_RAD, *levels))


_NO_OTHERS: Final[dict[str, tuple[float | None, ...]]] = dict.fromkeys(Angles._fields, ())


@lru_cache(maxsize=8)
def _doubtful_fits(fit: BodyFit) -> tuple[BodyFit, ...]:
    """The fit wrong in each of its ways: made once a fit, not five times a second while the golfer stands."""
    return tuple(fit.turned(way) for way in fit.doubtful_ways())


def _ways(inputs: ZeroInputs, fit: BodyFit) -> list[tuple[Address | None, BodyFit]]:
    stance = inputs.stance
    shown = wrist_heading(stance, fit)
    if shown is None:
        return []
    ways: list[tuple[Address | None, BodyFit]] = []

    def add(other_stance: Stance, other_fit: BodyFit) -> None:
        heading = wrist_heading(other_stance, other_fit)
        if heading is not None:
            ways.append((take_address(other_stance, other_fit, heading), other_fit))

    for other_fit in _doubtful_fits(fit):
        add(stance, other_fit)
    for i, axis in ((0, 0), (0, 1), (1, 0), (1, 1)):
        sd = inputs.tilt_sd_rad[i]
        levels = list(stance.q_level_from_free)
        levels[i] = mul(exp((sd, 0.0, 0.0) if axis == 0 else (0.0, sd, 0.0)), levels[i])
        add(Stance(t_s=stance.t_s, q_free=stance.q_free, q_level_from_free=(levels[0], levels[1])), fit)
    ways.append((take_address(stance, fit, shown + HEADING_SD_RAD), fit))
    return ways


def trusted(angles: Angles, spread: Spread) -> Angles:
    """Leave out what is known no better than `TRUSTED_RAD`."""
    wild = wild_in(spread)
    return angles._replace(**wild) if wild else angles


def wild_in(spread: Spread) -> dict[str, None]:
    """What is to be left out of the angles of that spread."""
    return {name: None for name, sd in zip(_ANGLES, _SDS(spread), strict=True) if sd is not None and sd > TRUSTED_RAD}
