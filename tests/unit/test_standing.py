"""Whoever leads through the moves sees when each is taken up; a golfer who is told beforehand makes them all."""

from __future__ import annotations

import heapq
import itertools
import math

import pytest

from fusion.calibration.session import KNOWN
from fusion.calibration.standing import Standing
from fusion.outputs import FitProgress, FitState
from fusion.pipeline import Pipeline
from sensors.events import MoveStart, PlayerSet, RawPacket, SensorInfo
from sensors.ids import Move, SensorId, Side
from sensors.profiles.open_imu import OPEN_IMU
from sensors.virtual.stage.cast import Casting, cast
from sensors.virtual.stage.script import Script, TakeUp
from server.drills import default_drill

STILL_S = 0.5
MOVES = (Move.STILL, *KNOWN)
HURRY_S = 15.0
"""No golfer of the stage needs so long for a move."""


@pytest.fixture(scope="module")
def practice():
    """Each move told, begun as soon as it is taken up, and taken: what was seen when, and what came of each."""
    script = Script(fit=())
    stage = cast(Casting(seed=3, n_strokes=2), script, tell=lambda _: None, heard=lambda: True)
    pipeline = Pipeline(default_drill())
    pipeline.push(PlayerSet(arrival_ns=0, name="Mara Voss", lead_side=Side.LEFT))
    for role in stage.boards:
        pipeline.push(
            SensorInfo(arrival_ns=0, sensor=SensorId(role), role=role, profile=OPEN_IMU.name, name=role.value)
        )
    streams = [zip(stage.packets(role), itertools.repeat(role)) for role in stage.boards]
    packets = heapq.merge(*streams, key=lambda item: item[0][0])
    seen: dict[Move, Standing] = {}
    states: dict[Move, FitState] = {}
    waits: dict[Move, list[Standing]] = {}
    for move in MOVES:
        script.ask(TakeUp(move))
        told_s, moved, begun = None, False, False
        for (due_s, payload), role in packets:
            told_s = due_s if told_s is None else told_s
            assert due_s < told_s + HURRY_S, move
            arrival_ns = round(1e9 * (due_s + 0.02))
            news = [
                one
                for one in pipeline.push(RawPacket(arrival_ns=arrival_ns, sensor=SensorId(role), payload=payload))
                if isinstance(one, FitProgress)
            ]
            if news:
                states[move] = news[-1].state
                break
            standing = pipeline.standing(due_s)
            if standing is None or begun:
                continue
            waits.setdefault(move, []).append(standing)
            least_s = min(standing.still_s.values())
            moved = moved or least_s < 0.1
            if standing.lies if move is Move.STILL else moved and least_s >= STILL_S:
                begun, seen[move] = True, standing
                pipeline.push(MoveStart(arrival_ns=arrival_ns, move=move))
                script.ask(move)
    return pipeline, seen, states, waits


def test_a_move_that_is_begun_when_it_is_taken_up_is_taken(practice):
    _, _, states, _ = practice
    assert states == dict.fromkeys(MOVES, FitState.TAKEN)


def test_only_sensors_that_lie_are_said_to_lie(practice):
    _, seen, _, waits = practice
    assert seen[Move.STILL].lies
    assert not any(standing.lies for move in KNOWN[1:] for standing in waits[move])


def test_arm_and_shaft_are_inclined_as_the_golfer_was_asked_to_hold_them(practice):
    """The model's own pose: over the ball the arm hangs steeply and the shaft lies at 50 to 65 degrees (common practice)."""
    _, seen, _, _ = practice
    assert seen[Move.PALM].arm_rad is None  # no move has shown the axis yet
    assert seen[Move.TWIRL].shaft_rad is None
    over_the_ball = seen[Move.ADDRESS]
    assert math.degrees(over_the_ball.arm_rad) > 45.0
    assert 45.0 < math.degrees(over_the_ball.shaft_rad) < 70.0
    assert seen[Move.NEUTRAL].shaft_rad is not None
    assert seen[Move.NEUTRAL].arm_rad is None


def test_once_the_moves_are_in_nobody_is_led(practice):
    pipeline, _, _, _ = practice
    pipeline.push(MoveStart(arrival_ns=10**12, move=Move.LOCKED))
    taken = set(pipeline.fit.taken)
    assert taken >= set(KNOWN)
    assert pipeline.fit.complete
    assert pipeline.standing(100.0) is None
