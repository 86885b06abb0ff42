"""From fit moves to constants: least squares over everything the moves say at once, whichever of them were made.

What a missing move would have fixed keeps the spread that people and mounts have, and the fit's covariance says so.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from fusion.calibration.convert import quat_of, square_to, vec_of
from fusion.calibration.fit import N_CONSTANTS, BodyFit, FitRejected
from fusion.calibration.habit import shown_habit
from fusion.calibration.model import ANYBODY, MOUNT_SD_RAD, SHAFT_TO_THUMB_RAD, Guess, MoveModel, in_hand
from fusion.calibration.moves import MoveTaken
from fusion.joints.wrist import lead_sign
from fusion.outputs.fit import FitReason
from fusion.rotation import Vec
from sensors.habit import Habit
from sensors.ids import Move, Side

Array = NDArray[np.float64]
DISAGREE_LIMIT: Final = 2.5
"""With residuals this many times their usual size (root mean square) in any move, the newest contradicts the others."""
_MOST_MOUNTING_SDS = 2.0
END_LIMIT_SDS: Final = 2.0
"""The forearm sensor's other end must fit worse than the one taken by so many standard deviations."""
_HEADINGS = np.radians(np.arange(-180.0, 180.0, 15.0))
_TRIES = 3
_INSTANTS_WEIGH_AS = 6
"""Residuals: two for each of about three instants."""
_ANCHORS = (Move.NEUTRAL, Move.LOCKED, Move.ADDRESS, Move.ROLL, Move.BEND, Move.HINGE)
"""Where the wrist is straight, or nearest to it: the first that was made."""


def solvable(moves: Sequence[MoveTaken]) -> bool:
    """Tell whether the moves show both sensors in one grip at all."""
    return bool(in_hand(moves))


def solve_fit(moves: Sequence[MoveTaken], side: Side, newest: Move, habit: Habit = ANYBODY) -> BodyFit:
    """Solve the constants; `habit` is what is known of the player from before.

    Raises `FitRejected` when the newest move contradicts the others, or none shows which end of the forearm is the hand.
    """
    best = None
    starts = sorted(_guesses(moves, side, habit), key=lambda start: start[0])
    for _, guess in starts[:_TRIES]:
        model = MoveModel(moves, side, guess, habit)
        found = least_squares(model.residuals, np.zeros(model.n), xtol=1e-10, ftol=1e-10, max_nfev=60)
        cost = found.cost + _mounting_cost(model.constants(found.x).shaft, moves)
        if best is None or cost < best[0] - 1e-6:
            best = (cost, found, model)
    if best is None:
        raise ValueError("no move shows both sensors")
    _, found, model = best
    if all(taken.move is not Move.ADDRESS for taken in moves):
        _end_or_refuse(moves, side, model.constants(found.x).forearm, found.cost, [guess for _, guess in starts])
    if newest is not Move.ADDRESS or habit is not ANYBODY:
        worst = max(_rms(values) for values in model.groups(found.x))
        if worst > DISAGREE_LIMIT:
            raise FitRejected(FitReason.DISAGREES, worst, DISAGREE_LIMIT)
    forearm, hand, shaft, _ = model.constants(found.x)
    spare = max(len(found.fun) - model.n, 1)
    inflation = max(1.0, 2.0 * found.cost / spare)
    jacobian = np.asarray(found.jac, dtype=np.float64)
    everything = np.linalg.inv(jacobian.T @ jacobian) * inflation
    covariance = everything[:N_CONSTANTS, :N_CONSTANTS]
    return BodyFit(
        side=side,
        q_sensor_from_forearm=quat_of(forearm),
        q_sensor_from_hand=quat_of(hand),
        shaft_sensor=vec_of(shaft),
        skin_lag=model.skin_lag(found.x),
        covariance=tuple(tuple(row) for row in covariance.tolist()),
        moves=tuple(m.move for m in moves),
        habit=shown_habit(model, found.x, np.asarray(everything, dtype=np.float64)),
    )


def _mounting_cost(shaft: Array, moves: Sequence[MoveTaken]) -> float:
    """What chooses between solutions that fit alike, where no twirl shows the shaft: a clip's y axis mostly lies along it.

    `shaft` is in the club sensor's axes. It counts for little, and moves no solution: other clips are as good.
    """
    if any(taken.move is Move.TWIRL for taken in moves):
        return 0.0
    off_sds = math.acos(min(abs(float(shaft[1])), 1.0)) / MOUNT_SD_RAD
    return 0.5 * min(off_sds, _MOST_MOUNTING_SDS) ** 2


def _end_or_refuse(
    moves: Sequence[MoveTaken], side: Side, sensor_from_forearm: Rotation, cost: float, starts: Sequence[Guess]
) -> None:
    """Without an address: only gravity in a hanging arm says which end is the hand, so it must say it clearly.

    Raises `FitRejected` when the arm the other way round fits nearly as well.
    """
    along = sensor_from_forearm.apply([0.0, 1.0, 0.0])

    def opposite(guess: Guess) -> bool:
        y = Rotation.from_quat(guess.q_sensor_from_forearm, scalar_first=True).apply([0.0, 1.0, 0.0])
        return float(y @ along) < 0.0

    other = next((guess for guess in starts if opposite(guess)), None)
    if other is None:
        return
    model = MoveModel(moves, side, other)
    found = least_squares(model.residuals, np.zeros(model.n), xtol=1e-10, ftol=1e-10, max_nfev=60)
    apart_sds = math.sqrt(max(2.0 * (found.cost - cost), 0.0))
    if apart_sds < END_LIMIT_SDS:
        raise FitRejected(FitReason.END_UNKNOWN, apart_sds, END_LIMIT_SDS)


def _rms(values: list[float]) -> float:
    """Root mean square of a move's residuals, whose many instants weigh as about three; 0 for none."""
    return math.sqrt(sum(v * v for v in values) / max(min(len(values), _INSTANTS_WEIGH_AS), 1))


def _guesses(moves: Sequence[MoveTaken], side: Side, habit: Habit) -> Iterator[tuple[float, Guess]]:
    """Start from every way the axes could lie, with the cost of each."""
    latest = {m.move: m for m in moves}
    anchor = next(latest[m] for m in _ANCHORS if m in latest and len(latest[m].q_club))
    held = in_hand(moves)
    forearm_at = Rotation.from_quat(anchor.q_forearm[len(anchor.q_forearm) // 2], scalar_first=True)
    club_at = Rotation.from_quat(anchor.q_club[len(anchor.q_club) // 2], scalar_first=True)
    twirl = latest.get(Move.TWIRL)
    for sensor_from_forearm in _forearms(latest):
        tries: list[tuple[float, Guess]] = []
        for heading in _HEADINGS.tolist():
            earth = Rotation.from_rotvec([0.0, 0.0, heading])
            sensor_from_hand = (earth * club_at).inv() * forearm_at * sensor_from_forearm
            for shaft in _shafts(twirl, sensor_from_hand, side):
                guess = Guess(
                    q_sensor_from_forearm=quat_of(sensor_from_forearm), q_sensor_from_hand=quat_of(sensor_from_hand),
                    shaft_sensor=shaft, headings_rad=(heading,) * len(held),
                )  # fmt: skip
                tries.append(_with_headings(moves, anchor, side, guess, habit))
        yield from sorted(tries, key=lambda t: t[0])[:2]


def _with_headings(
    moves: Sequence[MoveTaken], anchor: MoveTaken, side: Side, guess: Guess, habit: Habit
) -> tuple[float, Guess]:
    """Cost of a start; stretches beyond a hole get the heading that suits the wrist best."""
    held = in_hand(moves)
    cost = _cost(moves, side, guess, habit)
    for n_breaks in sorted({m.n_breaks for m in held} - {anchor.n_breaks}):
        for heading in _HEADINGS.tolist():
            headings = tuple(
                heading if m.n_breaks == n_breaks else h for m, h in zip(held, guess.headings_rad, strict=True)
            )
            other = replace(guess, headings_rad=headings)
            its = _cost(moves, side, other, habit)
            if its < cost:
                cost, guess = its, other
    return cost, guess


def _cost(moves: Sequence[MoveTaken], side: Side, guess: Guess, habit: Habit) -> float:
    model = MoveModel(moves, side, guess, habit)
    residuals = model.residuals(np.zeros(model.n))
    return float(np.minimum(residuals**2, 100.0).sum())


def _forearms(latest: dict[Move, MoveTaken]) -> Iterator[Rotation]:
    """Sensor-from-forearm axes: y from the roll or the sensor's own, x from the palm or anywhere about y."""
    roll, palm = latest.get(Move.ROLL), latest.get(Move.PALM)
    axis = np.array(roll.forearm_axis.axis_sensor if roll and roll.forearm_axis else (0.0, 1.0, 0.0))
    for y in (axis, -axis):
        if palm is not None:
            up = palm.up_forearm()
            volar = -(up - (up @ y) * y)
            if np.linalg.norm(volar) > 0.3:
                yield _axes(volar, y)
                continue
        for turn in np.radians(np.arange(0.0, 360.0, 45.0)):
            square = square_to(y)[:, 0]
            yield _axes(Rotation.from_rotvec(turn * y).apply(square), y)


def _axes(x: Array, y: Array) -> Rotation:
    x = x / np.linalg.norm(x)
    return Rotation.from_matrix(np.stack([x, y, np.cross(x, y)], axis=1))


def _shafts(twirl: MoveTaken | None, sensor_from_hand: Rotation, side: Side) -> Iterator[Vec]:
    if twirl is not None and twirl.club_axis is not None:
        x, y, z = twirl.club_axis.axis_sensor
        yield (x, y, z)
        yield (-x, -y, -z)
        return
    thumb = lead_sign(side)
    yield vec_of(sensor_from_hand.apply([0.0, -math.cos(SHAFT_TO_THUMB_RAD), thumb * math.sin(SHAFT_TO_THUMB_RAD)]))
