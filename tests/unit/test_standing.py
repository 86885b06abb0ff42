"""Whoever leads through the moves sees when each is taken up; a golfer who is told beforehand makes them all."""

from __future__ import annotations

import heapq
import itertools
import math

import numpy as np
import pytest

from fusion.calibration.session import KNOWN
from fusion.calibration.standing import Standing, standing_of
from fusion.orientation.track import SensorTrack
from fusion.outputs.fit import FitProgress, FitState
from fusion.pipeline import Pipeline
from sensors.events import MoveStart, PlayerSet, RawPacket, SensorInfo
from sensors.ids import PAIR, Move, SensorId, Side
from sensors.profiles.open_imu import OPEN_IMU
from sensors.readings import ImuBlock
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
            least_s = min(standing.still_s.values())
            moved = moved or least_s < 0.1
            if standing.lies if move is Move.STILL else moved and least_s >= STILL_S:
                begun, seen[move] = True, standing
                pipeline.push(MoveStart(arrival_ns=arrival_ns, move=move))
                script.ask(move)
    return pipeline, seen, states


def test_a_move_that_is_begun_when_it_is_taken_up_is_taken(practice):
    _, _, states = practice
    assert states == dict.fromkeys(MOVES, FitState.TAKEN)


@pytest.mark.parametrize(("tremor_deg_s", "lies"), [(0.0, True), (0.1, True), (0.6, False), (2.0, False)])
def test_only_sensors_that_lie_are_said_to_lie(tremor_deg_s, lies):
    """A table against a hand: 0.5 to 2 deg/s over a tenth of a second (set in simulation); a gyroscope's noise beside it."""
    rng = np.random.default_rng(8)
    t_s = np.arange(0.0, 1.0, 0.005)
    slow = np.repeat(rng.choice((-1.0, 1.0), (10, 3)), 20, axis=0) / math.sqrt(3.0)
    rates = np.radians(tremor_deg_s * slow + rng.normal(0.0, 0.1, (len(t_s), 3)) + 1.0)  # and a degree of offset
    tracks = {role: SensorTrack(200.0) for role in PAIR}
    for track in tracks.values():
        force = np.tile([0.0, 0.0, 9.81], (len(t_s), 1))
        track.push(ImuBlock(
            arrival_ns=0, sensor=SensorId("x"), t_s=t_s, device_s=t_s, gyr_sensor_rad_s=rates, acc_sensor_m_s2=force,
            saturated=False,
        ))  # fmt: skip
    standing = standing_of(tracks, {}, 1.0)
    assert standing.lies is lies
    assert min(standing.still_s.values()) > 0.7


def test_arm_and_shaft_are_inclined_as_the_golfer_was_asked_to_hold_them(practice):
    """The model's own pose: over the ball the arm hangs steeply and the shaft lies at 50 to 65 degrees (common practice)."""
    _, seen, _ = practice
    assert seen[Move.PALM].arm_rad is None  # no move has shown the axis yet
    assert seen[Move.TWIRL].shaft_rad is None
    over_the_ball = seen[Move.ADDRESS]
    assert math.degrees(over_the_ball.arm_rad) > 45.0
    assert 45.0 < math.degrees(over_the_ball.shaft_rad) < 70.0
    assert seen[Move.NEUTRAL].shaft_rad is not None
    assert seen[Move.NEUTRAL].arm_rad is None


def test_once_the_moves_are_in_nobody_is_led(practice):
    pipeline, _, _ = practice
    pipeline.push(MoveStart(arrival_ns=10**12, move=Move.LOCKED))
    taken = set(pipeline.fit.taken)
    assert taken >= set(KNOWN)
    assert pipeline.fit.complete
    assert pipeline.standing(100.0) is None
