"""Has a sensor turned since the fit? Told from how the sensors lie at rest before each swing.

At rest gravity shows each sensor how it is rolled about its segment: the club's about the shaft, the forearm's about the arm. A
golfer comes to the ball much alike every time, so a clip or strap that turned shows as a step in that roll which stays. Every
possible instant of the step is tried: the median of the last 2 to 12 stances against the median of all before, the
address of the fit first, in standard deviations of the player's own stances. A sensor put on end for end shows at once:
its axis points up where it pointed down. A club taken anew, turned in the hand, looks the same and does the same harm.
Golfers who open the face by rolling the arm look like it too, and are told so; a step smaller than their own scatter is not seen.

The stance of a swing is the last rest before the club turns fast, not the address that was accepted: with a sensor that turned by
more than a wrist can make up for, no address ever is.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from enum import Enum
from statistics import median
from typing import Final

from fusion.address import ARM_HIGHEST_RAD, SHAFT_RANGE_RAD
from fusion.calibration.fit import BodyFit, across
from fusion.club_state import DISTAL
from fusion.outputs.fit import SensorTurned, TurnKind
from fusion.outputs.rep import RepFlag
from fusion.pairing import Pair
from fusion.rotation import Vec, angle, dot, relative, rotate
from sensors.ids import Role

LIMIT_SDS: Final = 4.5
"""A step is told from so many standard deviations on: none was in the half hours of docs/fit.md, where all steps are tried."""
LEAST_RAD: Final = math.radians(8.0)
"""A smaller step is not worth a sentence: what it does to the angles is within what is stated."""
STANCE_SD_RAD: Final = math.radians(5.0)
"""Scatter of the roll from stance to stance before the player's own is known, by simulation, no source..."""
STANCE_WEIGHT: Final = 4
"""... which counts as so many stances."""
_WINDOWS: Final = (2, 3, 4, 6, 8, 12)
_MOST_KEPT: Final = 200
_CLIP_RAD: Final = math.radians(15.0)
"""A single stance further off says nothing of the usual scatter: it was none."""
_BACK_SHARE: Final = 0.5
"""Less than this share of a step left ..."""
_BACK_AFTER: Final = 3
"""... by the median of so many stances: turned back."""
_BLIND_RAD: Final = math.radians(45.0)
_REVERSED_TIMES: Final = 2
"""So many stances running with an axis upward; one may be a club held up."""
FAST_RAD_S: Final = 12.0
"""Only a swing turns the club so fast."""
_APART_S: Final = 3.0
_REST_BEFORE_S: Final = (0.7, 5.0)
"""The rest of a swing ends so long before the club is fast: not a wait at the top, and not the swing before."""

_FLAGS: Final = {Role.CLUB: RepFlag.CLIP_TURNED, Role.FOREARM: RepFlag.STRAP_TURNED}


class TurnWatch:
    """One fit's. Give it the rests and, once a tick, an instant; it says when a sensor has turned, or turned back."""

    def __init__(self, fit: BodyFit, ups_at_fit: dict[Role, Vec]) -> None:
        """`ups_at_fit`: up in each sensor's axes in the address of the fit; empty when that was not made."""
        self.fit = fit
        self.in_force = fit
        """The fit, less sure of what has turned."""
        arm = rotate(fit.q_sensor_from_forearm, DISTAL)
        self._sensors = {
            Role.FOREARM: _Sensor(arm, (-math.pi / 2, ARM_HIGHEST_RAD), ups_at_fit.get(Role.FOREARM)),
            Role.CLUB: _Sensor(fit.shaft_sensor, SHAFT_RANGE_RAD, ups_at_fit.get(Role.CLUB)),
        }
        self._rests: deque[tuple[float, dict[Role, Vec]]] = deque(maxlen=100)
        self._last: Pair | None = None
        self._fast_s = -math.inf

    @property
    def turned(self) -> dict[Role, SensorTurned]:
        """What stands: by sensor, the last word on it; turned back is not in it."""
        return {role: s.told for role, s in self._sensors.items() if s.told is not None}

    @property
    def flags(self) -> tuple[RepFlag, ...]:
        """What a rep made now must say."""
        return tuple(_FLAGS[role] for role in self.turned)

    @property
    def blind(self) -> bool:
        """A sensor sits so far off that no address is found any more."""
        return any(told.kind is TurnKind.REVERSED or abs(told.by_rad) > _BLIND_RAD for told in self.turned.values())

    def rested(self, end_s: float, ups: dict[Role, Vec]) -> None:
        """Both sensors were at rest until `end_s`; up in each one's axes."""
        self._rests.append((end_s, ups))

    def moved(self, arrival_ns: int, pair: Pair) -> list[SensorTurned]:
        """Look at one instant a tick; news when a swing shows that a sensor has turned."""
        last, self._last = self._last, pair
        if last is None or pair[0] - self._fast_s < _APART_S:
            return []
        if angle(relative(last[2], pair[2])) < FAST_RAD_S * (pair[0] - last[0]):
            return []
        self._fast_s = pair[0]
        low, high = _REST_BEFORE_S
        stance = next((ups for end_s, ups in reversed(self._rests) if low <= pair[0] - end_s <= high), None)
        return [] if stance is None else self._stood(arrival_ns, pair[0], stance)

    def _stood(self, arrival_ns: int, t_s: float, ups: dict[Role, Vec]) -> list[SensorTurned]:
        ways = {role: sensor.way(ups[role]) for role, sensor in self._sensors.items()}
        if not all(ways.values()):
            return []  # a rest somewhere else than over the ball
        upright = all(way is _Way.DOWN for way in ways.values())
        out = []
        for role, sensor in self._sensors.items():
            before = sensor.told
            if ways[role] is _Way.UP:
                found = sensor.stood_reversed()
            elif upright:
                found = sensor.stood(ups[role])
            else:
                continue  # with the other one upside down this was perhaps no address
            if found is None and before is None:
                continue
            news = SensorTurned(
                arrival_ns=arrival_ns, t_s=t_s, role=role,
                kind=found.kind if found else TurnKind.BACK,
                by_rad=found.by_rad if found else 0.0,
                n_swings=found.n_swings if found else 0,
            )  # fmt: skip
            sensor.told = news if found else None
            if before is None or before.kind is not news.kind:
                out.append(news)
        self.in_force = self.fit
        for role, told in self.turned.items():
            self.in_force = self.in_force.loosened(role, told.by_rad)
        return out


class _Way(Enum):
    """Which way a segment's axis points over the ball, if the sensor sits as at the fit."""

    DOWN = "down"
    UP = "up"


@dataclass(frozen=True, slots=True)
class _Found:
    kind: TurnKind
    by_rad: float
    n_swings: int


class _Sensor:
    """One sensor's stances: how far it is rolled about its axis against the first."""

    def __init__(self, axis: Vec, range_rad: tuple[float, float], up_at_fit: Vec | None) -> None:
        self.told: SensorTurned | None = None
        self._axis = axis
        self._lowest, self._highest = (math.sin(bound) for bound in range_rad)
        self._first = across(axis)
        self._zero_rad: float | None = None
        self._rolls: list[float] = []
        self._usual: list[float] | None = None
        """The stances before the step, once one is told."""
        self._n_reversed = 0
        if up_at_fit is not None:
            self._push(up_at_fit)

    def way(self, up: Vec) -> _Way | None:
        """Which way the axis points; None where it never does over the ball."""
        rise = dot(up, self._axis)
        if self._lowest <= -abs(rise) <= self._highest:
            return _Way.DOWN if rise < 0 else _Way.UP
        return None

    def stood_reversed(self) -> _Found | None:
        """Take in a stance in which the axis pointed up."""
        self._n_reversed += 1
        if self._n_reversed >= _REVERSED_TIMES:
            return _Found(TurnKind.REVERSED, math.pi, self._n_reversed)
        return None

    def stood(self, up: Vec) -> _Found | None:
        """Take in one stance; how the sensor has turned, if it has."""
        self._n_reversed = 0
        self._push(up)
        if self._usual is not None:
            return self._still_turned(self._usual)
        for n in _WINDOWS:
            if n >= len(self._rolls):
                return None
            usual, fresh = self._rolls[:-n], self._rolls[-n:]
            by_rad = _step(usual, fresh)
            if by_rad is not None:
                self._usual = usual
                return _Found(TurnKind.ROLLED, by_rad, n)
        return None

    def _push(self, up: Vec) -> None:
        a, b = self._first
        roll = math.atan2(dot(up, b), dot(up, a))
        if self._zero_rad is None:
            self._zero_rad = roll
        self._rolls.append(math.remainder(roll - self._zero_rad, math.tau))
        del self._rolls[:-_MOST_KEPT]

    def _still_turned(self, usual: list[float]) -> _Found | None:
        by_rad = median(self._rolls[-_BACK_AFTER:]) - median(usual)
        told = self.told
        if told is not None and abs(by_rad) < max(_BACK_SHARE * abs(told.by_rad), LEAST_RAD / 2):
            self._usual, self._rolls = None, [*usual, *self._rolls[-_BACK_AFTER:]]
            return None
        return _Found(TurnKind.ROLLED, by_rad, len(self._rolls) - len(usual))


def _step(usual: list[float], fresh: list[float]) -> float | None:
    """By how much fresh stances differ from the usual ones, if by more than these scatter."""
    middle = median(usual)
    if len(fresh) == 2:
        by_rad = min((value - middle for value in fresh), key=abs)
        if (fresh[0] - middle) * (fresh[1] - middle) <= 0:
            return None
    else:
        by_rad = median(fresh) - middle
    if abs(by_rad) < LEAST_RAD:
        return None
    own = median(fresh)
    offs = [*(value - middle for value in usual), *(value - own for value in fresh)]
    squares = sum(min(abs(off), _CLIP_RAD) ** 2 for off in offs)
    sd = math.sqrt((STANCE_WEIGHT * STANCE_SD_RAD**2 + squares) / (STANCE_WEIGHT + len(offs) - 2))
    limit = LIMIT_SDS * sd * math.sqrt(1.0 / len(fresh) + 1.0 / len(usual))
    return by_rad if abs(by_rad) > limit else None
