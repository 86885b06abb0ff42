"""A sensor that has turned since the fit, told from how it lies over the ball: stances drawn by scipy, no sensors, no swing."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from fusion.calibration.session import FitSession
from fusion.calibration.solve import solve_fit
from fusion.calibration.turned import FAST_RAD_S, TurnWatch
from fusion.outputs.fit import TurnKind
from fusion.outputs.rep import RepFlag
from fusion.rotation import IDENTITY, exp
from sensors.ids import PAIR, Move, Role, Side
from tests.unit.test_fit import HANGING, Body, off_deg

SCATTER_DEG = 3.0
FLIP = Rotation.from_euler("x", 180, degrees=True)


@cache
def fitted(seed, side):
    return solve_fit(Body(seed, side).all(), side, Move.ADDRESS)


class Golfer:
    """Comes to the ball again and again, each time a little differently, and swings."""

    def __init__(self, seed=1, side=Side.LEFT, scatter_deg=SCATTER_DEG):
        self.rng = np.random.default_rng(seed)
        self.body = Body(seed, side)
        self.scatter_deg = scatter_deg
        self.fit = fitted(seed, side)
        self.shaft_frame = Rotation.align_vectors([[0.0, -1.0, 0.0]], [self.body.shaft])[
            0
        ]  # -y butt to head, from sensor
        self.watch = TurnWatch(self.fit, self.ups({}))
        self.now_s = 100.0

    def ups(self, turned, lift_deg=0.0):
        """Up in both sensors, with each sensor turned in its segment's axes (y up the segment) by what is given."""

        def scatter():
            return Rotation.from_euler("xyz", self.rng.normal(0.0, [1.0, self.scatter_deg, 1.0]), degrees=True)

        forearm = (Rotation.from_euler("x", 20 + lift_deg, degrees=True) * HANGING).inv().apply([0.0, 0.0, 1.0])
        club = Rotation.from_euler("x", -32 - lift_deg, degrees=True).apply([0.0, 1.0, 0.0])
        still = Rotation.identity()
        forearm_sensor = self.body.sensor_from_forearm * turned.get(Role.FOREARM, still) * scatter()
        club_sensor = self.shaft_frame.inv() * turned.get(Role.CLUB, still) * scatter()
        return {Role.FOREARM: tuple(forearm_sensor.apply(forearm)), Role.CLUB: tuple(club_sensor.apply(club))}

    def swing(self, turned=None, **more):
        self.now_s += 20.0
        self.watch.rested(self.now_s - 1.2, self.ups(turned or {}, **more))
        self.watch.moved(0, (self.now_s - 0.05, IDENTITY, IDENTITY, 9.8, 9.8))
        turn = exp((1.5 * FAST_RAD_S * 0.05, 0.0, 0.0))
        return self.watch.moved(0, (self.now_s, IDENTITY, turn, 9.8, 9.8))

    def swings(self, n, turned=None, **more):
        return [self.swing(turned, **more) for _ in range(n)]


def about_axis(degrees):
    """Up the segment is y; down it, as the product counts, the other way."""
    return Rotation.from_euler("y", degrees, degrees=True)


@pytest.mark.parametrize("seed", range(2, 6))
def test_an_honest_practice_tells_nothing(seed):
    golfer = Golfer(seed, Side.LEFT if seed % 2 else Side.RIGHT)
    assert not any(golfer.swings(60))
    assert golfer.watch.in_force is golfer.fit


@pytest.mark.parametrize("role", PAIR)
@pytest.mark.parametrize("degrees", [25.0, -40.0])
def test_a_turn_is_told_within_three_swings_with_its_size_and_that_it_is_back(role, degrees):
    golfer = Golfer(3)
    golfer.swings(6)
    told = golfer.swings(3, {role: about_axis(degrees)})
    (news,) = [one for some in told for one in some]
    assert (news.role, news.kind) == (role, TurnKind.ROLLED)
    assert abs(math.degrees(news.by_rad)) == pytest.approx(abs(degrees), abs=8.0)
    assert golfer.watch.flags == ((RepFlag.CLIP_TURNED,) if role is Role.CLUB else (RepFlag.STRAP_TURNED,))
    back = [one for some in golfer.swings(4) for one in some]
    assert [(one.role, one.kind) for one in back] == [(role, TurnKind.BACK)]
    assert golfer.watch.in_force is golfer.fit


def test_turns_to_either_side_have_opposite_signs():
    signs = []
    for degrees in (30.0, -30.0):
        golfer = Golfer(3)
        golfer.swings(6)
        golfer.swings(3, {Role.CLUB: about_axis(degrees)})
        signs.append(math.copysign(1.0, golfer.watch.turned[Role.CLUB].by_rad))
    assert signs[0] == -signs[1]


def test_a_steady_golfer_s_small_turn_is_seen_and_a_restless_one_s_is_not():
    seen = []
    for scatter_deg in (1.5, 8.0):
        golfer = Golfer(5, scatter_deg=scatter_deg)
        golfer.swings(15)
        seen.append(any(golfer.swings(10, {Role.CLUB: about_axis(10.0)})))
    assert seen == [True, False]


@pytest.mark.parametrize("role", PAIR)
def test_upside_down_is_told_at_the_second_swing(role):
    golfer = Golfer(2)
    golfer.swings(2)
    assert golfer.swing({role: FLIP}) == []
    (news,) = golfer.swing({role: FLIP})
    assert (news.role, news.kind, news.n_swings) == (role, TurnKind.REVERSED, 2)
    assert golfer.watch.blind
    (news,) = golfer.swing()
    assert (news.role, news.kind) == (role, TurnKind.BACK)


def test_one_rest_with_the_club_held_up_is_no_news():
    golfer = Golfer(2)
    golfer.swings(4)
    assert not any([*golfer.swings(1, {Role.CLUB: FLIP}), *golfer.swings(1), *golfer.swings(1, {Role.CLUB: FLIP})])


def test_a_rest_elsewhere_than_over_the_ball_does_not_count():
    golfer = Golfer(2)
    golfer.swings(6)
    assert not any(golfer.swings(8, {Role.CLUB: about_axis(40.0)}, lift_deg=50.0))  # the arm near level


def test_a_turned_clip_loosens_what_it_spoils_and_no_more():
    golfer = Golfer(4)
    golfer.swings(6)
    golfer.swings(4, {Role.CLUB: about_axis(20.0)})
    loose, sure = golfer.watch.in_force.sd_rad(), golfer.fit.sd_rad()
    assert loose[:3] == pytest.approx(sure[:3])  # the forearm's axes
    assert loose[6:] == pytest.approx(sure[6:])  # the shaft
    grown = np.degrees(np.sqrt((loose[3:6] ** 2 - sure[3:6] ** 2).sum()))
    assert grown == pytest.approx(abs(math.degrees(golfer.watch.turned[Role.CLUB].by_rad)), rel=1e-6)


def test_three_moves_fit_a_turned_clip_again_and_the_forearm_is_remembered():
    before, after = Body(3, Side.LEFT), Body(3, Side.LEFT)
    turn = Rotation.from_rotvec(math.radians(30.0) * before.shaft)
    after.sensor_from_hand = turn * before.sensor_from_hand
    session = FitSession()
    session._taken = {taken.move: taken for taken in before.all()}
    session._solve(Move.ADDRESS, Side.LEFT)
    assert session.complete
    session.forget(Role.CLUB, 100.0)
    assert session.status.taken == (Move.ROLL, Move.PALM)
    assert not session.complete
    assert session.fit is not None
    for taken in after.all():
        if taken.move in (Move.NEUTRAL, Move.TWIRL, Move.ADDRESS):
            session._taken[taken.move] = replace(taken, t_s=taken.t_s + 200.0)
            session._solve(taken.move, Side.LEFT)
    assert session.complete
    assert off_deg(session.fit.q_sensor_from_hand, after.sensor_from_hand) < 4.0
    assert off_deg(session.fit.q_sensor_from_hand, before.sensor_from_hand) > 25.0


def test_a_slipped_strap_leaves_only_the_twirl():
    session = FitSession()
    session.fit = fitted(3, Side.LEFT)
    session._taken = {taken.move: taken for taken in Body(3, Side.LEFT).all()}
    session.forget(Role.FOREARM, 100.0)
    assert session.status.taken == (Move.TWIRL,)
