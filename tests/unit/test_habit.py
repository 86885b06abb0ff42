"""What is remembered of a player: found in a full fit, expected the next time, kept in a file, put in front of the practice."""

from __future__ import annotations

import asyncio
import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from fusion.calibration.collect import Collected
from fusion.calibration.habit import DAY_SD, expected_habit
from fusion.calibration.session import KNOWN, FitSession
from fusion.calibration.solve import solve_fit
from fusion.outputs.fit import FitReason, HabitFound
from sensors.events import HabitSet
from sensors.habit import NAMES, Habit, Known
from sensors.ids import Move, Role, SensorId, Side
from server.engine import Engine
from server.habit_source import HabitSource
from server.habits import KEPT, STALE_AFTER, HabitStore
from tests.live_service import LIVE, REPLAY, HandSource, ToldPipeline, never, packet
from tests.unit.test_fit import Body
from tests.unit.test_trims import Fixed, info

ARM, CLUB = SensorId("arm"), SensorId("club")
HABIT = Habit(
    lean_rad=Known(value=0.05, sd=0.04),
    toward_thumb_rad=Known(value=0.6, sd=0.05),
    skin_lag=Known(value=0.04, sd=0.02),
    address_bend_rad=Known(value=-0.15, sd=0.05),
    address_hinge_rad=Known(value=0.25, sd=0.05),
)


@pytest.fixture
def clock():
    return [datetime(2026, 6, 1, tzinfo=UTC)]


@pytest.fixture
def store(tmp_path, clock):
    return HabitStore(tmp_path, lambda: clock[0])


@pytest.mark.parametrize("side", list(Side))
def test_a_fit_with_all_moves_shows_how_the_club_lies_in_the_hand_and_the_wrist_at_address(side):
    body = Body(3, side)
    habit = solve_fit(body.all(), side, Move.ADDRESS).habit
    assert habit is not None
    # As the body was built: the shaft in the hand's plane, 0.6 rad toward the thumb; at address 10 deg cupped, 15 deg ulnar.
    for name, true in (("lean_rad", 0.0), ("toward_thumb_rad", 0.6)):
        assert getattr(habit, name).value == pytest.approx(true, abs=math.radians(1.0)), name
    assert math.degrees(habit.address_bend_rad.value) == pytest.approx(-10.0, abs=1.5)
    assert math.degrees(habit.address_hinge_rad.value) == pytest.approx(15.0, abs=1.5)
    assert all(getattr(habit, name).sd > 0 for name in NAMES)


def fitted_by(body, habit, moves):
    """A session that was given these moves one after the other; and the reason of the last one's news."""
    session, reason = FitSession(habit), None
    for taken in moves:
        session.begin(0, taken.t_s, taken.move)
        collected = Collected(taken=taken, rests={}, middle_s=taken.t_s)
        reason = session._outcome(0, collected, {}, body.side).reason
    return session, reason


def few(body):
    by_move = {taken.move: taken for taken in body.all()}
    return [replace(by_move[move], t_s=10.0 + i) for i, move in enumerate(KNOWN)]


def test_who_is_remembered_has_a_fit_with_few_moves():
    body = Body(5, Side.LEFT)
    full = solve_fit(body.all(), Side.LEFT, Move.ADDRESS)
    session, reason = fitted_by(body, expected_habit([full.habit]), few(body))
    assert reason is FitReason.NONE
    assert session.status.complete
    assert session.status.due == ()
    off = Rotation.from_quat(session.fit.q_sensor_from_forearm, scalar_first=True).inv() * body.sensor_from_forearm
    assert np.degrees(off.magnitude()) < 3.0
    assert session.habit_shown is None  # it leant on what was remembered: nothing new is learnt


def test_who_is_not_as_remembered_is_fitted_without_it():
    body = Body(5, Side.LEFT)
    other = replace(HABIT, toward_thumb_rad=Known(value=-0.6, sd=0.05), address_hinge_rad=Known(value=-0.5, sd=0.05))
    session, reason = fitted_by(body, other, few(body))
    assert reason is FitReason.UNLIKE_BEFORE
    assert not session.status.known
    assert session.status.complete
    assert Move.LOCKED in session.status.due
    plain, _ = fitted_by(body, None, few(body))
    assert session.fit == plain.fit


def test_days_differ_and_the_players_own_scatter_counts_where_it_is_larger():
    once, often = expected_habit([HABIT]), expected_habit([HABIT] * 8)
    for name in NAMES:
        assert getattr(often, name).value == pytest.approx(getattr(HABIT, name).value)
        assert DAY_SD[name] < getattr(often, name).sd < getattr(once, name).sd
    wild = [replace(HABIT, address_bend_rad=Known(value=value, sd=0.01)) for value in (-0.5, 0.5, -0.5, 0.5)]
    assert expected_habit(wild).address_bend_rad.sd > 0.5


def test_a_fit_is_remembered_by_player_and_pair(store, tmp_path, clock):
    assert store.find("Mara", ARM, CLUB) is None
    store.keep("Mara", ARM, CLUB, HABIT)
    assert HabitStore(tmp_path, lambda: clock[0]).find("Mara", ARM, CLUB) == expected_habit([HABIT])
    for who in (("Ines", ARM, CLUB), ("Mara", CLUB, ARM), ("", ARM, CLUB)):
        assert store.find(*who) is None
    clock[0] += timedelta(minutes=5)
    store.keep("Mara", ARM, CLUB, HABIT)  # the same practice: no second one
    assert store.find("Mara", ARM, CLUB) == expected_habit([HABIT])
    for _ in range(KEPT + 2):
        clock[0] += timedelta(days=1)
        HabitStore(tmp_path, lambda: clock[0]).keep("Mara", ARM, CLUB, HABIT)
    assert store.find("Mara", ARM, CLUB) == expected_habit([HABIT] * KEPT)
    clock[0] += STALE_AFTER
    assert store.find("Mara", ARM, CLUB) is None


@pytest.mark.parametrize("text", ["", "{}", '{"version": 1, "player": "Mara"}', "[1]", "\x00"])
def test_a_spoilt_file_means_that_nothing_is_remembered(store, text):
    path = store.path_of("Mara", ARM, CLUB)
    path.write_text(text)
    assert store.find("Mara", ARM, CLUB) is None
    store.keep("Mara", ARM, CLUB, HABIT)
    assert store.find("Mara", ARM, CLUB) is not None


async def test_what_is_remembered_follows_the_second_of_the_pair_once():
    arm = replace(info(1, ARM), role=Role.FOREARM)
    spare = replace(info(2, SensorId("x")), role=Role.SPARE)
    source = Fixed([arm, spare, info(3, CLUB), info(4, CLUB), replace(arm, arrival_ns=5)])
    asked = []

    def find(forearm, club):
        asked.append((forearm, club))
        return HABIT

    async with HabitSource(source, find) as remembering:
        events = [event async for event in remembering]
    assert events == [*source.events[:3], HabitSet(arrival_ns=3, habit=HABIT), *source.events[3:]]
    assert asked == [(ARM, CLUB)]


@pytest.mark.parametrize(("view", "kept"), [(LIVE, True), (REPLAY, False)])
async def test_a_live_practice_keeps_it_and_a_replay_does_not(store, view, kept):
    source = HandSource()
    found = HabitFound(arrival_ns=0, player="Mara", forearm=ARM, club=CLUB, habit=HABIT)
    engine = Engine(
        lambda: source, view=view, habits=store, sleep=never, make_pipeline=lambda: ToldPipeline({b"1": (found,)})
    )
    task = asyncio.create_task(engine.run())
    source.feed(packet(b"1"))
    await source.taken()
    task.cancel()
    await asyncio.wait({task})
    assert (store.find("Mara", ARM, CLUB) is not None) is kept
