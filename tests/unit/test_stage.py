"""The golfer on demand: acts that join, boards that sample them, a script that says what comes next."""

from __future__ import annotations

import heapq
import itertools

import numpy as np
import pytest

from fusion.outputs.fit import FitProgress, FitState
from fusion.outputs.instant import Doubt
from fusion.outputs.rep import Rep, Verdict
from fusion.pipeline import Pipeline
from sensors.decode.decoder import Decoder
from sensors.events import MoveStart, PlayerSet, RawPacket, SensorInfo
from sensors.ids import Move, Role, SensorId, Side
from sensors.profiles.open_imu import OPEN_IMU, unpack
from sensors.readings import Gap, Reading
from sensors.virtual.golfer import segments
from sensors.virtual.practice import WANDER
from sensors.virtual.stage.acts import Golfer
from sensors.virtual.stage.cast import Casting, cast
from sensors.virtual.stage.script import ENOUGH, FAULTS, FIT, Script
from sensors.virtual.stage.stage import MoveAhead, MoveBegun, SwingAhead
from server.drills import default_drill

AIR_S = 0.02


def staged(script=None, *, casting=None, heard=lambda: True):
    told = []
    stage = cast(casting or Casting(), script or Script(), tell=told.append, heard=heard)
    return stage, told


def played(stage, seconds):
    """Both boards' packets in order of their times, until then."""
    streams = [zip(stage.packets(role), itertools.repeat(role)) for role in stage.boards]
    merged = heapq.merge(*streams, key=lambda item: item[0][0])
    return itertools.takewhile(lambda item: item[0][0] < seconds, merged)


def test_acts_begin_and_end_still_where_the_last_one_ended():
    golfer = Golfer(np.random.default_rng(4))
    acts = [golfer.fit_move(Move.ROLL), golfer.wait(), golfer.fit_move(Move.PALM), golfer.swing(0.7), golfer.wait()]
    for before, after in itertools.pairwise(acts):
        for name in WANDER:
            end, start = before.curves[name], after.curves[name]
            assert end(before.duration_s) == pytest.approx(start(0.0), abs=1e-6), name
            for order in (1, 2):
                assert end.derivative(order)(before.duration_s) == pytest.approx(0.0, abs=0.05)
                assert start.derivative(order)(0.0) == pytest.approx(0.0, abs=0.05)


def test_motion_at_the_joins_is_as_smooth_as_elsewhere():
    """A jump would show as an acceleration that no arm has: compare with gravity."""
    stage, _ = staged()
    decoders = {role: Decoder(OPEN_IMU) for role in stage.boards}
    force = []
    for (due_s, payload), role in played(stage, 20.0):
        packet = RawPacket(arrival_ns=round(due_s * 1e9), sensor=SensorId(role), payload=payload)
        for item in decoders[role].push(packet):
            assert isinstance(item, Reading)
            force.append(np.linalg.norm(item.acc_sensor_m_s2, axis=1))
    assert np.concatenate(force).max() < 2.5 * 9.80665


def test_boards_keep_sequence_clock_and_their_own_rates():
    stage, _ = staged()
    found = {role: [] for role in stage.boards}
    for (due_s, payload), role in played(stage, 12.0):
        found[role].append((due_s, unpack(payload)))
    for role, items in found.items():
        assert [item.sequence for _, item in items] == list(range(len(items)))
        due_s = np.array([due for due, _ in items])
        clock_us = np.unwrap([float(item.clock_us) for _, item in items], period=2.0**32)
        assert np.allclose(np.diff(clock_us) * 1e-6, np.diff(due_s), rtol=1e-4)
        rate_hz = 10.0 / np.diff(due_s).mean()
        assert 198.0 <= rate_hz <= 202.0
        assert rate_hz != pytest.approx(200.0, abs=0.01), f"{role}: an oscillator of its own"


def test_the_same_seed_plays_the_same():
    def payloads(seed):
        stage, _ = staged(casting=Casting(seed=seed))
        return [payload for (_, payload), _ in played(stage, 3.0)]

    assert payloads(5) == payloads(5)
    assert payloads(5) != payloads(6)


def test_a_slice_more_or_less_makes_no_difference_to_the_motion():
    """Sampling goes by the act's curves, so an ideal board reads the model's own rate at each sample's time."""
    golfer = Golfer(np.random.default_rng(2))
    act = golfer.swing(0.5)
    stage, _ = staged()
    board = stage.boards[Role.CLUB]
    cuts = np.concatenate([np.arange(0.13, act.duration_s, 0.13), [act.duration_s]])
    readings = []
    decoder = Decoder(OPEN_IMU)
    for end_s in cuts:
        for _, payload in board.sample(act, 0.0, float(end_s), n_acts=1):
            readings += decoder.push(RawPacket(arrival_ns=0, sensor=SensorId("club"), payload=payload))
    t_s = np.concatenate([reading.device_s for reading in readings])
    rate = np.concatenate([reading.gyr_sensor_rad_s for reading in readings])
    body = segments(act.curves, t_s - t_s[0], board._build, Side.LEFT)
    true = np.linalg.norm(body.club_sensor.body_rate_rad_s(), axis=1)
    calm = np.abs(t_s - t_s[0] - act.blow_s) > 0.1
    off = np.abs(np.linalg.norm(rate, axis=1) - true)[calm]
    assert np.sqrt(np.mean(off**2)) < 0.08  # rad/s: bias of half a degree a second an axis, scale of 0.3 %


@pytest.mark.parametrize("side", Side)
def test_a_practice_of_it_is_fitted_and_its_swings_judged_as_they_were_made(side):
    stage, told = staged(casting=Casting(seed=3, lead_side=side, pose_s=1.6))
    pipeline = Pipeline(default_drill())
    outputs = list(pipeline.push(PlayerSet(arrival_ns=0, name="Virtual golfer", lead_side=side)))
    for role in stage.boards:
        pipeline.push(
            SensorInfo(arrival_ns=0, sensor=SensorId(role), role=role, profile=OPEN_IMU.name, name=role.value)
        )
    faults = []
    for (due_s, payload), role in played(stage, 80.0):
        arrival_ns = round((due_s + AIR_S) * 1e9)
        for news in told:
            if isinstance(news, MoveBegun):
                outputs += pipeline.push(MoveStart(arrival_ns=arrival_ns, move=news.move))
            elif isinstance(news, SwingAhead):
                faults.append(news.fault)
        told.clear()
        outputs += pipeline.push(RawPacket(arrival_ns=arrival_ns, sensor=SensorId(role), payload=payload))
    ends = [o for o in outputs if isinstance(o, FitProgress) and o.state is not FitState.COLLECTING]
    assert [(o.move, o.state) for o in ends] == [(move, FitState.TAKEN) for move in FIT]
    reps = [o for o in outputs if isinstance(o, Rep)]
    assert len(reps) >= 4
    for rep, fault in zip(reps, faults, strict=False):
        assert rep.doubt is Doubt.NONE
        assert rep.verdict is (Verdict.BELOW if fault > 0.5 else Verdict.IN_BAND), fault


def test_the_script_makes_the_fit_then_swings_with_and_without():
    script = Script(n_swings=4)
    wishes = [script.next(heard=True) for _ in range(len(FIT) + 8)]
    assert tuple(wishes[: len(FIT)]) == FIT
    assert wishes[len(FIT) :] == [FAULTS[k % len(FAULTS)] for k in range(8)]


def test_the_fit_comes_again_where_each_round_begins_with_it():
    script = Script(fit=(Move.ROLL,), n_swings=2, refit=True)
    wishes = [script.next(heard=True) for _ in range(6)]
    assert wishes == [Move.ROLL, FAULTS[0], FAULTS[1], Move.ROLL, FAULTS[2], FAULTS[3]]


def test_without_moves_of_its_own_it_waits_to_be_asked_and_swings_when_enough_was():
    script = Script(fit=())
    assert script.next(heard=True) is None
    for move in ENOUGH:
        script.ask(move)
        assert script.next(heard=True) is move
    assert script.next(heard=True) == FAULTS[0]


def test_what_is_asked_comes_first_and_a_new_listener_sees_the_beginning():
    script = Script()
    script.next(heard=True)
    script.ask(0.75)
    assert script.next(heard=False) == 0.75
    assert script.next(heard=False) is None
    script.begin()
    assert script.next(heard=True) is FIT[0]


def test_a_round_without_a_swing_is_refused():
    with pytest.raises(ValueError, match="swing"):
        Script(n_swings=0)


def test_it_tells_of_a_move_before_it_and_at_the_moment_to_tap():
    stage, told = staged(Script(fit=(Move.NEUTRAL,)))
    list(played(stage, 6.0))
    assert told[:2] == [MoveAhead(Move.NEUTRAL), MoveBegun(Move.NEUTRAL)]
    assert isinstance(told[2], SwingAhead)


def test_it_waits_while_nobody_listens():
    stage, told = staged(heard=lambda: False)
    list(played(stage, 3.0))
    assert told == []


def test_settings_change_scale_and_rate_and_a_restart_takes_them_back():
    stage, _ = staged(Script(fit=()))
    board = stage.boards[Role.FOREARM]

    def first(seconds):
        return [unpack(payload) for (_, payload), role in played(stage, seconds) if role is Role.FOREARM]

    usual = first(2.0)[-1]
    one_g = np.linalg.norm(usual.counts[:, 3:].mean(axis=0))
    assert one_g == pytest.approx(32768 / 16, rel=0.05)
    board.set_acc_range(4)
    board.set_rate(100)
    finer = first(4.0)[-1]
    assert np.linalg.norm(finer.counts[:, 3:].mean(axis=0)) == pytest.approx(4 * one_g, rel=0.01)
    slow = first(6.0)
    assert (slow[-1].clock_us - slow[-2].clock_us) % 2**32 == pytest.approx(100_000, rel=0.02)
    board.restart()
    again = first(8.0)
    fresh = [item for item in again if item.clock_us < 3_000_000]
    assert fresh[0].sequence == 0
    assert np.linalg.norm(fresh[-1].counts[:, 3:].mean(axis=0)) == pytest.approx(one_g, rel=0.01)
    for setter, value in ((board.set_rate, 123), (board.set_gyr_range, 0), (board.set_acc_range, 3)):
        with pytest.raises(ValueError, match=str(value)):
            setter(value)


def test_a_restart_reads_as_one_to_the_decoder():
    stage, _ = staged(Script(fit=()))
    decoder, items = Decoder(OPEN_IMU), []
    for (due_s, payload), role in played(stage, 4.0):
        if role is Role.CLUB:
            if len(items) == 40:
                stage.boards[role].restart()
            items += decoder.push(RawPacket(arrival_ns=round(due_s * 1e9), sensor=SensorId("c"), payload=payload))
    assert [item.restarted for item in items if isinstance(item, Gap)] == [True]
