"""What the fit moves must look like if the constants are right: the residuals that the fit makes small.

Every residual is in standard deviations. The standard deviations say how well people do what they are asked, from simulation and
common practice, no source:

    neutral     wrist straight: flexion and deviation 2.5 deg each
    bend        the other wrist angle couples with a slope of 0.15; hinge alike
    roll        axis within 0.6 deg of the forearm's, more if it wobbled
    palm        forearm's back upward within 2 deg about its long axis
    twirl       axis within 0.5 deg of the shaft, more if it wobbled
    locked, roll  wrist angles constant within 1.2 deg
    all with the club in the hand   no axial turn in the wrist, within 1.5 deg, and 0.5 within one move: what comes and goes
                with bend and hinge is not play but axes taken wrong
    the body    shaft about square to the palm's normal (8 deg), 35 deg toward the thumb (12 deg)
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from fusion.calibration.axis import TurningAxis
from fusion.calibration.convert import vec_of
from fusion.calibration.fit import N_CONSTANTS, across
from fusion.calibration.moves import MoveTaken
from fusion.joints.wrist import lead_sign
from fusion.rotation import Quat, Vec, cross
from sensors.habit import Habit, Known
from sensors.ids import Move, Side

Array = NDArray[np.float64]

_deg = math.radians
NEUTRAL_SD_RAD = _deg(2.5)
AXIAL_SD_RAD, AXIAL_CHANGE_SD_RAD = _deg(1.5), _deg(0.5)
"""Turn of the hand about the forearm: in one move as a whole, and what comes and goes within it."""
PALM_SD_RAD = _deg(2.0)
HELD_SD_RAD = _deg(1.2)
COUPLING_SD = 0.15
ROLL_AXIS_SD_RAD = _deg(0.6)
TWIRL_AXIS_SD_RAD = _deg(0.5)
WOBBLE_SHARE = 0.12
"""Error of an axis for each unit of wobble: people wobble to and fro, most of it cancels."""
SHAFT_FROM_PALM_SD_RAD = _deg(8.0)
SHAFT_TO_THUMB_RAD, SHAFT_TO_THUMB_SD_RAD = _deg(35.0), _deg(12.0)
MOUNT_SD_RAD = _deg(20.0)
"""How far the forearm sensor's y axis may be from the forearm's when no move shows it."""
ADDRESS_WRIST_SD_RAD = _deg(20.0)
"""The wrist at address, deviation from straight: only says which of two solutions is a wrist."""
REGRIP_SD_RAD = _deg(3.0)
"""Turn of the club in the hand about its shaft, when the grip is taken anew."""
DRIFT_SD_RAD_S, DRIFT_LEAST_RAD = _deg(0.05), _deg(0.7)
"""How far the heading between the sensors wanders from one move to the next, where their biases are known."""
FREE_SD_RAD = _deg(57.0)
"""What is known of a constant that nothing shows."""
ADDRESS_DOWN, ADDRESS_DOWN_SD = 0.8, 0.25
"""Sine of how far forearm and shaft point down at address."""
HANGING_DOWN, HANGING_DOWN_SD = 0.6, 0.5
"""The same of the forearm alone in the moves made with a hanging arm: without an address it says which end is the hand."""
SKIN_LAG, SKIN_LAG_SD = 0.03, 0.03
"""How far skin at the wrist stays behind a roll, as a share of it; plausible, no source. The roll move shows it."""
ANYBODY = Habit(
    lean_rad=Known(value=0.0, sd=SHAFT_FROM_PALM_SD_RAD),
    toward_thumb_rad=Known(value=SHAFT_TO_THUMB_RAD, sd=SHAFT_TO_THUMB_SD_RAD),
    skin_lag=Known(value=SKIN_LAG, sd=SKIN_LAG_SD),
    address_bend_rad=Known(value=0.0, sd=ADDRESS_WRIST_SD_RAD),
    address_hinge_rad=Known(value=0.0, sd=ADDRESS_WRIST_SD_RAD),
)
"""Of a player who is not remembered."""
_Y, _Z = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])
_HEADINGS = N_CONSTANTS + 1
"""Index of the first heading, after the constants and the skin's lag."""
IN_HAND = (Move.NEUTRAL, Move.BEND, Move.HINGE, Move.ROLL, Move.LOCKED, Move.ADDRESS)
_HANGING = (Move.NEUTRAL, Move.LOCKED)
_LOOSE_GRIP = (Move.TWIRL, Move.PALM)


@dataclass(frozen=True, slots=True, kw_only=True)
class Guess:
    """Where the search starts."""

    q_sensor_from_forearm: Quat
    q_sensor_from_hand: Quat
    shaft_sensor: Vec
    headings_rad: tuple[float, ...]
    """By move in the hand: turns the club's earth onto the forearm's."""


class Constants(NamedTuple):
    """What is looked for, at one point of the search."""

    forearm: Rotation
    """Sensor from forearm."""
    hand: Rotation
    """Club's sensor from hand."""
    shaft: Array
    """In the club's sensor."""
    along: Array
    """Forearm's long axis, wrist to elbow, in the forearm's sensor."""


def in_hand(moves: Sequence[MoveTaken]) -> list[MoveTaken]:
    """Moves that show both sensors in one grip, in order of time."""
    return [m for m in sorted(moves, key=lambda m: m.t_s) if m.move in IN_HAND and len(m.q_club)]


class MoveModel:
    """Residuals of all moves as a function of the constants, the headings and the changes of grip.

    Needs at least one move in the hand.
    """

    def __init__(self, moves: Sequence[MoveTaken], side: Side, guess: Guess, habit: Habit = ANYBODY) -> None:
        self._side = side
        self._habit = habit
        self._guess = guess
        self.held = in_hand(moves)
        self._latest = {m.move: m for m in moves}
        loose_s = [m.t_s for m in moves if m.move in _LOOSE_GRIP]
        grips = np.array([sum(t < m.t_s for t in loose_s) for m in self.held])
        self._grip = grips - grips[0]
        self.n_grips = int(self._grip.max())
        counts = [len(m.q_forearm) for m in self.held]
        self._move_of = np.repeat(np.arange(len(counts)), counts)
        ends = np.cumsum(counts).tolist()
        self._instants = [slice(end - count, end) for end, count in zip(ends, counts, strict=True)]
        """Of each move in the hand."""
        self._forearm = Rotation.from_quat(np.concatenate([m.q_forearm for m in self.held]), scalar_first=True)
        self._club = Rotation.from_quat(np.concatenate([m.q_club for m in self.held]), scalar_first=True)
        self._turns = np.concatenate([m.turn_forearm_rad for m in self.held])
        zero = self._latest.get(Move.ADDRESS) or self._latest.get(Move.NEUTRAL) or self.held[0]
        self._turn_zero = zero.turn_forearm_rad.mean(axis=0)
        self._base_forearm = Rotation.from_quat(guess.q_sensor_from_forearm, scalar_first=True)
        self._base_hand = Rotation.from_quat(guess.q_sensor_from_hand, scalar_first=True)
        self._shaft = np.array(guess.shaft_sensor)
        self._across = np.array(across(guess.shaft_sensor))
        stood, palm = self._latest.get(Move.ADDRESS), self._latest.get(Move.PALM)
        self._stood = None if stood is None else (_Rise(stood.q_forearm), _Rise(stood.q_club))
        self._hanging = [_Rise(self._latest[move].q_forearm) for move in _HANGING if move in self._latest]
        self._palm = None if palm is None else (palm.up_forearm(), palm.turn_forearm_rad.mean(axis=0))
        self.n = _HEADINGS + len(self.held) + self.n_grips

    def constants(self, p: Array) -> Constants:
        """What a point of the search stands for."""
        forearm = self._base_forearm * Rotation.from_rotvec(p[0:3])
        return Constants(
            forearm,
            self._base_hand * Rotation.from_rotvec(p[3:6]),
            Rotation.from_rotvec(p[6:8] @ self._across).apply(self._shaft),
            forearm.apply(_Y),
        )

    def skin_lag(self, p: Array) -> float:
        """Share of the roll by which the skin lags."""
        return SKIN_LAG + float(p[N_CONSTANTS])

    def _skin(self, p: Array, turns_rad: Array, along: Array) -> Rotation:
        """Bone from skin, about the forearm's y, at given turns of the sensor, shape (n, 3)."""
        roll = self.skin_lag(p) * (turns_rad - self._turn_zero) @ along
        return Rotation.from_rotvec(np.atleast_1d(roll)[:, None] * _Y)

    def wrist(self, p: Array, constants: Constants) -> Array:
        """Flexion, ulnar deviation and axial turn at every kept instant, radians, shape (n, 3)."""
        forearm, hand, shaft, along = constants
        headings = np.array(self._guess.headings_rad) + p[_HEADINGS : _HEADINGS + len(self.held)]
        turns = np.concatenate([[0.0], p[_HEADINGS + len(self.held) :]])[self._grip]
        earth = Rotation.from_rotvec(headings[self._move_of, None] * _Z)
        grip = Rotation.from_rotvec(turns[self._move_of, None] * shaft)
        skin = self._skin(p, self._turns, along)
        wrist = (self._forearm * forearm * skin).inv() * (earth * self._club * grip * hand)
        r = wrist.as_matrix()
        sign = lead_sign(self._side)
        flexion = np.arctan2(-r[:, 0, 1], r[:, 1, 1])
        ulnar = sign * np.arcsin(np.clip(r[:, 2, 1], -1.0, 1.0))
        axial = sign * np.arctan2(-r[:, 2, 0], r[:, 2, 2])
        return np.stack([flexion, ulnar, axial], axis=1)

    def residuals(self, p: Array) -> Array:
        """All residuals, in standard deviations."""
        return np.array([value for values in self.groups(p) for value in values])

    def groups(self, p: Array) -> list[list[float]]:
        """Residuals by what they come from: a move, or something that holds whatever the moves."""
        constants = self.constants(p)
        wrist = self.wrist(p, constants)
        return [
            *(
                _wrist_residuals(taken.move, wrist[here], self._habit)
                for taken, here in zip(self.held, self._instants, strict=True)
            ),
            self._links(p),
            (p[_HEADINGS + len(self.held) :] / REGRIP_SD_RAD).tolist(),
            *self._axes(p, constants),
            (p[:N_CONSTANTS] / FREE_SD_RAD).tolist(),
            [(float(p[N_CONSTANTS]) - (self._habit.skin_lag.value - SKIN_LAG)) / self._habit.skin_lag.sd],
            self._grip_residuals(constants),
        ]

    def _grip_residuals(self, constants: Constants) -> list[float]:
        lean, toward_thumb = grip_angles(constants, self._side)
        return [_off(lean, self._habit.lean_rad), _off(toward_thumb, self._habit.toward_thumb_rad)]

    def habit(self, p: Array) -> Array:
        """What `Habit` holds, in its order, as the moves show it; NaN for the wrist at address without that move. Shape (5,)."""
        constants = self.constants(p)
        stood = next((k for k, taken in enumerate(self.held) if taken.move is Move.ADDRESS), None)
        wrist = (
            np.full(2, np.nan) if stood is None else self.wrist(p, constants)[self._instants[stood]].mean(axis=0)[:2]
        )
        return np.array([*grip_angles(constants, self._side), self.skin_lag(p), *wrist])

    def _links(self, p: Array) -> list[float]:
        """Headings of moves with no hole between them, differing by little more than drift."""
        guess = self._guess.headings_rad
        out = []
        for k, (before, after) in enumerate(pairwise(self.held)):
            if before.n_breaks == after.n_breaks:
                step = guess[k + 1] + p[_HEADINGS + k + 1] - guess[k] - p[_HEADINGS + k]
                drift = max(DRIFT_SD_RAD_S, before.drift_sd_rad_s)
                sd = math.hypot(DRIFT_LEAST_RAD, drift * (after.t_s - before.t_s))
                out.append(math.remainder(step, math.tau) / sd)
        return out

    def _axes(self, p: Array, constants: Constants) -> list[list[float]]:
        out: list[list[float]] = []
        forearm, _, shaft, along = constants
        if self._stood is not None:
            down = (self._stood[0].of(-along), self._stood[1].of(shaft))
            out.append([(rise + ADDRESS_DOWN) / ADDRESS_DOWN_SD for rise in down])
        out.extend([(rise.of(-along) + HANGING_DOWN) / HANGING_DOWN_SD] for rise in self._hanging)
        roll, twirl = self._latest.get(Move.ROLL), self._latest.get(Move.TWIRL)
        if roll is not None and roll.forearm_axis is not None:
            out.append(_off_axis(along, roll.forearm_axis, ROLL_AXIS_SD_RAD))
        else:
            off = cross(vec_of(along), (0.0, float(np.sign(along[1])) or 1.0, 0.0))
            out.append([v / MOUNT_SD_RAD for v in off])
        if twirl is not None and twirl.club_axis is not None:
            out.append(_off_axis(shaft, twirl.club_axis, TWIRL_AXIS_SD_RAD))
        if self._palm is not None:
            up, turn_rad = self._palm
            back = (forearm * self._skin(p, turn_rad, along)).apply([[-1.0, 0.0, 0.0]])[0]
            side = np.array(cross(vec_of(along), vec_of(back)))
            out.append([math.atan2(float(up @ side), float(up @ back)) / PALM_SD_RAD])
        return out


def grip_angles(constants: Constants, side: Side) -> tuple[float, float]:
    """How the shaft lies in the hand: its lean out of the palm's plane, and how far it lies toward the thumb."""
    shaft_hand = constants.hand.inv().apply(constants.shaft)
    lean = math.asin(max(-1.0, min(1.0, float(shaft_hand[0]))))
    return lean, math.atan2(lead_sign(side) * float(shaft_hand[2]), -float(shaft_hand[1]))


def _off(value: float, known: Known) -> float:
    return (value - known.value) / known.sd


def _off_axis(direction: Array, found: TurningAxis, least_rad: float) -> list[float]:
    sd = math.hypot(least_rad, WOBBLE_SHARE * found.wobble)
    return [v / sd for v in cross(vec_of(direction), found.axis_sensor)]


def _wrist_residuals(move: Move, wrist: Array, habit: Habit) -> list[float]:
    """Residuals of one move's instants, shape (n, 3). Instants of one move share their error: together they weigh as one."""
    flexion, ulnar, axial = wrist.T
    n = len(wrist)
    share = 1.0 / math.sqrt(n)
    middle = _mean(axial)
    out = [middle / AXIAL_SD_RAD]
    out += ((axial - middle) * (share / AXIAL_CHANGE_SD_RAD)).tolist()
    match move:
        case Move.NEUTRAL:
            out += [_mean(flexion) / NEUTRAL_SD_RAD, _mean(ulnar) / NEUTRAL_SD_RAD]
        case Move.BEND:
            out.append(_slope(flexion, ulnar) / COUPLING_SD)
        case Move.HINGE:
            out.append(_slope(ulnar, flexion) / COUPLING_SD)
        case Move.LOCKED | Move.ROLL:
            share = 2.0 / math.sqrt(n)
            off = wrist - wrist.mean(axis=0)
            out += (off * (share / HELD_SD_RAD)).ravel().tolist()
        case Move.ADDRESS:
            out += [
                _off(_mean(flexion), habit.address_bend_rad),
                _off(_mean(ulnar), habit.address_hinge_rad),
            ]
        case _:
            out += [_mean(flexion) / ADDRESS_WRIST_SD_RAD, _mean(ulnar) / ADDRESS_WRIST_SD_RAD]
    return out


class _Rise:
    """Sine of the elevation of a direction held by a sensor, mean over a move's instants."""

    def __init__(self, q_level_from_sensor: Array) -> None:
        self._level_from_sensor = Rotation.from_quat(q_level_from_sensor, scalar_first=True)

    def of(self, direction_sensor: Array) -> float:
        return _mean(self._level_from_sensor.apply(direction_sensor)[:, 2])


def _slope(x: Array, y: Array) -> float:
    x, y = x - _mean(x), y - _mean(y)
    return float(x @ y) / max(float(x @ x), 1e-6)


def _mean(values: Array) -> float:
    """`values.mean()`, to the last bit, in a third of the time: of a dozen instants, ten times an evaluation."""
    return float(np.add.reduce(values)) / len(values)
