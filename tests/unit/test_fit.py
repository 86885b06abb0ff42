"""The fit from moves: known mounts are found again, whatever is missing only widens the spread, contradictions are refused."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from fusion.calibration.axis import TurningAxis, turning_axis
from fusion.calibration.fit import FitRejected
from fusion.calibration.moves import MoveTaken
from fusion.calibration.solve import solvable, solve_fit
from fusion.outputs.fit import FitReason
from fusion.rotation import rotate
from sensors.ids import Move, Side

HEADING_RAD = 0.8
# Forearm axes in the earth (X volar, Y proximal, Z right of body) with the arm hanging, for either arm.
HANGING = Rotation.from_matrix([[1, 0, 0], [0, 0, -1], [0, 1, 0]])


class Body:
    """Mounts drawn at random, and moves made without a fault; rotations by scipy."""

    def __init__(self, seed, side):
        rng = np.random.default_rng(seed)
        self.side = side
        self.sign = -1.0 if side is Side.LEFT else 1.0
        self.sensor_from_forearm = Rotation.random(rng=rng)
        self.sensor_from_hand = Rotation.random(rng=rng)
        self.shaft_hand = np.array([0.0, -math.cos(0.6), self.sign * math.sin(0.6)])
        self.shaft = self.sensor_from_hand.apply(self.shaft_hand)

    def wrist(self, flexion_deg, ulnar_deg):
        return Rotation.from_euler("ZXY", [flexion_deg, self.sign * ulnar_deg, 0.0], degrees=True)

    def move(self, move, t_s, forearms, wrists, **more):
        q_forearm = [forearm * self.sensor_from_forearm.inv() for forearm in forearms]
        earth = Rotation.from_euler("z", -HEADING_RAD)
        q_club = [earth * f * w * self.sensor_from_hand.inv() for f, w in zip(forearms, wrists, strict=True)]
        quats = [np.array([q.as_quat(scalar_first=True) for q in qs]) for qs in (q_forearm, q_club)]
        return MoveTaken(
            move=move, t_s=t_s, n_breaks=0, q_forearm=quats[0], q_club=quats[1],
            turn_forearm_rad=np.zeros((len(forearms), 3)), **more,
        )  # fmt: skip

    def axis(self, v):
        return TurningAxis(axis_sensor=tuple(v), wobble=0.02, path_rad=6.0)

    def all(self):
        hold = self.wrist(0, 0)
        front = Rotation.from_euler("x", 40, degrees=True) * HANGING
        swing = [
            Rotation.from_euler("zx", [a, 30 + abs(a) / 2], degrees=True) * HANGING for a in np.linspace(-50, 50, 12)
        ]
        bends = [self.wrist(30 * math.sin(a), 4 * math.sin(a)) for a in np.linspace(0, 6, 12)]
        hinges = [self.wrist(2 * math.sin(a), 18 * math.sin(a)) for a in np.linspace(0, 6, 12)]
        still = self.axis(self.sensor_from_forearm.apply([0.0, -1.0, 0.0]))
        twirl = self.axis(-self.shaft)
        # Palm down: forearm level ahead, its back up.
        palm = Rotation.from_matrix(palm_down())
        return [
            self.move(Move.NEUTRAL, 10.0, [front] * 3, [hold] * 3),
            self.move(Move.BEND, 20.0, [front] * 12, bends),
            self.move(Move.HINGE, 30.0, [front] * 12, hinges),
            self.move(Move.ROLL, 40.0, [front] * 12, [hold] * 12, forearm_axis=still),
            self.move(Move.TWIRL, 50.0, [front] * 3, [hold] * 3, club_axis=twirl),
            self.move(Move.LOCKED, 60.0, swing, [self.wrist(3, 5)] * 12),
            replace(self.move(Move.PALM, 70.0, [palm] * 3, [hold] * 3), q_club=np.empty((0, 4))),
            self.move(Move.ADDRESS, 80.0, [front] * 3, [self.wrist(-10, 15)] * 3),
        ]


def palm_down():
    # Columns X volar (down), Y proximal (toward the player, -y), Z by the right hand.
    x, y = np.array([0.0, 0.0, -1.0]), np.array([0.0, -1.0, 0.0])
    return np.stack([x, y, np.cross(x, y)], axis=1)


def off_deg(q, true):
    return math.degrees((Rotation.from_quat(q, scalar_first=True) * true.inv()).magnitude())


@pytest.mark.parametrize("side", Side)
@pytest.mark.parametrize("seed", range(4))
def test_any_mount_is_found_whatever_way_round_the_sensors_are(seed, side):
    body = Body(seed, side)
    fit = solve_fit(body.all(), side, Move.ADDRESS)
    # The body's averages pull a little: nobody's grip is exactly the usual one.
    assert off_deg(fit.q_sensor_from_forearm, body.sensor_from_forearm) < 1.5
    assert off_deg(fit.q_sensor_from_hand, body.sensor_from_hand) < 2.0
    assert np.degrees(np.arccos(np.dot(fit.shaft_sensor, body.shaft))) < 0.5
    assert rotate(fit.q_sensor_from_hand, tuple(body.shaft_hand)) == pytest.approx(tuple(body.shaft), abs=0.04)


@pytest.mark.parametrize(
    "missing", [Move.BEND, Move.HINGE, Move.LOCKED, Move.NEUTRAL, Move.PALM, Move.TWIRL, Move.ROLL]
)
def test_a_missing_move_only_widens_the_spread(missing):
    body = Body(3, Side.LEFT)
    everything = solve_fit(body.all(), Side.LEFT, Move.ADDRESS)
    without = [m for m in body.all() if m.move is not missing]
    assert solvable(without)
    fit = solve_fit(without, Side.LEFT, Move.ADDRESS)
    assert np.trace(np.array(fit.covariance)) > 0.99 * np.trace(np.array(everything.covariance))
    assert missing not in fit.moves


def clip_along(body, seed):
    """The club's sensor clipped on with its y axis along the shaft, at any roll about it."""
    rng = np.random.default_rng(seed)
    along, _ = Rotation.align_vectors([[0.0, rng.choice([-1.0, 1.0]), 0.0]], [body.shaft_hand])
    body.sensor_from_hand = Rotation.from_euler("y", rng.uniform(-180, 180), degrees=True) * along
    body.shaft = body.sensor_from_hand.apply(body.shaft_hand)
    return body


@pytest.mark.parametrize("seed", range(6))
def test_where_nothing_else_tells_two_shafts_apart_it_is_the_one_along_the_clip(seed):
    """Without twirl, palm and locked a hand on the other side of the forearm fits as well."""
    body = clip_along(Body(seed, Side.LEFT), seed)
    few = [m for m in body.all() if m.move not in (Move.TWIRL, Move.PALM, Move.LOCKED)]
    fit = solve_fit(few, Side.LEFT, Move.ADDRESS)
    assert np.degrees(np.arccos(np.dot(fit.shaft_sensor, body.shaft))) < 25.0


@pytest.mark.parametrize("seed", range(4))
def test_without_an_address_a_hanging_arm_says_which_end_is_the_hand(seed):
    body = Body(seed, Side.LEFT)
    fit = solve_fit([m for m in body.all() if m.move is not Move.ADDRESS], Side.LEFT, Move.ADDRESS)
    assert off_deg(fit.q_sensor_from_forearm, body.sensor_from_forearm) < 3.0
    assert np.degrees(np.arccos(np.dot(fit.shaft_sensor, body.shaft))) < 1.0


def test_an_arm_whose_end_nothing_shows_is_refused():
    """Without an address and any move with the arm hanging the fit is the same from either end: its mirror costs no more."""
    body = Body(1, Side.LEFT)
    silent = (Move.ADDRESS, Move.NEUTRAL, Move.LOCKED)
    with pytest.raises(FitRejected) as error:
        solve_fit([m for m in body.all() if m.move not in silent], Side.LEFT, Move.ADDRESS)
    assert error.value.reason is FitReason.END_UNKNOWN
    assert error.value.measured < error.value.limit
    solve_fit([m for m in body.all() if m.move not in silent[1:]], Side.LEFT, Move.ADDRESS)  # the address says it


def test_what_each_essential_move_is_for():
    body = Body(2, Side.LEFT)
    sd = {m: solve_fit([t for t in body.all() if t.move is not m], Side.LEFT, Move.ADDRESS).sd_rad() for m in Move}
    all_in = np.degrees(sd[Move.STILL])
    assert np.degrees(sd[Move.TWIRL])[6:].max() > 3 * all_in[6:].max()  # the shaft
    assert np.degrees(sd[Move.NEUTRAL])[3] > 3 * all_in[3]  # the zero of hinge
    # The zero of bend is seen twice: straight in `neutral`, and as the direction of the axis that `hinge` turns about.
    neither = [t for t in body.all() if t.move not in (Move.NEUTRAL, Move.HINGE)]
    assert np.degrees(solve_fit(neither, Side.LEFT, Move.ADDRESS).sd_rad())[5] > 2 * all_in[5]
    assert np.degrees(sd[Move.ROLL])[[0, 2]].max() > 2 * all_in[[0, 2]].max()  # the forearm's long axis


def test_a_clip_that_turned_before_the_last_move_is_named():
    body = Body(1, Side.LEFT)
    moves = body.all()
    turned = Rotation.from_quat(moves[6].q_forearm, scalar_first=True) * Rotation.from_rotvec(
        np.radians(50) * body.sensor_from_forearm.apply([0.0, 1.0, 0.0])
    )
    moves[6] = replace(moves[6], q_forearm=turned.as_quat(scalar_first=True))
    with pytest.raises(FitRejected) as error:
        solve_fit(moves, Side.LEFT, Move.PALM)
    assert error.value.reason is FitReason.DISAGREES
    assert error.value.measured > error.value.limit


def test_nothing_in_the_hand_is_no_fit():
    assert not solvable([m for m in Body(0, Side.LEFT).all() if m.move is Move.PALM])


def test_the_axis_of_a_turning_that_wobbles():
    # The greatest singular direction of rates is the axis; compared with the one the rates were made about.
    rng = np.random.default_rng(4)
    axis = np.array([0.2, -0.9, 0.4])
    axis /= np.linalg.norm(axis)
    t_s = np.arange(0, 4, 0.005)
    rates = 2.0 * np.sin(4 * t_s)[:, None] * axis + rng.normal(0.0, 0.1, (len(t_s), 3))
    found = turning_axis(t_s, rates)
    assert abs(np.dot(found.axis_sensor, axis)) == pytest.approx(1.0, abs=1e-4)
    assert found.wobble == pytest.approx(0.1 / (2.0 / math.sqrt(2)), rel=0.15)
    assert found.path_rad == pytest.approx(np.abs(2 * np.sin(4 * t_s)).sum() * 0.005, rel=0.02)
