"""What must not matter: where packets are cut, which arm leads, what came between swings."""

from dataclasses import replace

import numpy as np
import pytest

from fusion.outputs.instant import Doubt, Phase, Readout
from fusion.pipeline import Pipeline
from sensors.events import MoveStart, RawPacket, SensorInfo
from sensors.ids import Role, Side
from server.drills import default_drill
from tests.virtual import run_pipeline, virtual_run


def test_the_same_events_give_the_same_numbers_to_the_last_bit():
    run = virtual_run(6, 2)
    assert run_pipeline(run.events) == run.outputs


def test_a_left_handed_player_reads_the_same():
    left, right = (virtual_run(7, 3, side, perfect=True) for side in Side)
    assert len(left.reps) == len(right.reps) == 3
    for a, b in zip(left.reps, right.reps, strict=True):
        for mark in (Phase.SHAFT_LEVEL, Phase.ARM_LEVEL, Phase.TOP):
            for name in (
                "bend_change_rad",
                "hinge_change_rad",
                "roll_change_rad",
                "shaft_elevation_rad",
                "face_twist_rad",
            ):
                mirrored = getattr(b.checkpoints[mark].angles, name)
                assert np.degrees(getattr(a.checkpoints[mark].angles, name) - mirrored) == pytest.approx(0, abs=1.0), (
                    name
                )


def test_without_fit_moves_nothing_is_claimed():
    events = [event for event in virtual_run(6, 2).events if not isinstance(event, MoveStart)]
    outputs = run_pipeline(events)
    assert {type(output) for output in outputs} == {Readout}
    assert {output.doubt for output in outputs[2:]} == {Doubt.NOT_FITTED}
    assert all(output.angles.bend_rad is None for output in outputs)


def test_one_silent_sensor_is_told_and_no_angle_given():
    events = virtual_run(6, 2).events
    club = next(e.sensor for e in events if isinstance(e, SensorInfo) and e.role is Role.CLUB)
    cut_ns = events[len(events) // 2].arrival_ns
    silenced = [e for e in events if not (isinstance(e, RawPacket) and e.sensor == club and e.arrival_ns > cut_ns)]
    late = [o for o in run_pipeline(silenced) if isinstance(o, Readout) and o.arrival_ns > cut_ns + 1_000_000_000]
    assert late
    assert {readout.doubt for readout in late} == {Doubt.SENSOR_MISSING}
    assert all(readout.angles.bend_rad is None and readout.angles.shaft_elevation_rad is None for readout in late)


def test_a_hole_in_the_downswing_spoils_that_swing_only():
    run = virtual_run(6, 2)
    truth = run.truths[0]
    start_ns = run.events[0].arrival_ns
    inside = range(start_ns + round(truth.top_s * 1e9), start_ns + round((truth.impact_s + 0.05) * 1e9))
    holed = [e for e in run.events if not (isinstance(e, RawPacket) and e.arrival_ns in inside)]
    outputs = run_pipeline(holed)
    spoilt = [o for o in outputs if isinstance(o, Readout) and truth.impact_s < o.t_s < truth.impact_s + 0.5]
    assert spoilt
    assert {readout.doubt for readout in spoilt} <= {Doubt.GAP, Doubt.NO_ADDRESS}
    assert spoilt[0].doubt is Doubt.GAP
    whole = [rep for rep in run.reps if rep.checkpoints[Phase.TOP].t_s > run.truths[1].address_s]
    again = [o for o in outputs if type(o) is type(whole[0]) and o.checkpoints[Phase.TOP].t_s > run.truths[1].address_s]
    assert [rep.doubt for rep in again] == [Doubt.NONE]
    assert np.degrees(
        again[0].checkpoints[Phase.TOP].angles.bend_rad - whole[0].checkpoints[Phase.TOP].angles.bend_rad
    ) == pytest.approx(0.0, abs=0.3)


def test_packets_of_strangers_and_junk_change_nothing():
    run = virtual_run(6, 2)
    junked = []
    for i, event in enumerate(run.events):
        junked.append(event)
        if isinstance(event, RawPacket) and i % 50 == 0:
            junked.append(RawPacket(arrival_ns=event.arrival_ns, sensor=event.sensor, payload=b"\x01\x0anonsense"))
            junked.append(RawPacket(arrival_ns=event.arrival_ns, sensor="stranger", payload=event.payload))
            junked.append(event)
    assert run_pipeline(junked) == run.outputs


def test_health_counts_what_came_and_what_did_not():
    run = virtual_run(6, 2)
    pipeline = Pipeline(default_drill())
    for event in run.events:
        pipeline.push(event)
    for health in pipeline.health(run.events[-1].arrival_ns):
        sent = run.session.practice.duration_s * 200 * 1.01
        assert health.rate_hz == pytest.approx(200, rel=0.03)
        assert 0.97 * sent / 1.02 < health.n_samples + health.n_lost < sent


def test_another_sensor_in_the_place_of_one_has_to_be_fitted_anew():
    events = virtual_run(6, 2).events
    club = next(e for e in events if isinstance(e, SensorInfo) and e.role is Role.CLUB)
    cut_ns = events[len(events) * 9 // 10].arrival_ns
    swapped = []
    for event in events:
        if isinstance(event, RawPacket) and event.sensor == club.sensor and event.arrival_ns > cut_ns:
            swapped.append(replace(event, sensor="spare"))
        else:
            swapped.append(event)
        if event.arrival_ns == cut_ns and swapped[-1] is event:
            swapped.append(replace(club, arrival_ns=cut_ns, sensor="spare"))
    late = [o for o in run_pipeline(swapped) if isinstance(o, Readout) and o.arrival_ns > cut_ns + 500_000_000]
    assert late
    assert {readout.doubt for readout in late} == {Doubt.NOT_FITTED}


def test_a_sensor_that_introduces_itself_again_goes_on():
    events = list(virtual_run(6, 2).events)
    again = [replace(e, arrival_ns=events[900].arrival_ns) for e in events if isinstance(e, SensorInfo)]
    assert run_pipeline([*events[:901], *again, *events[901:]]) == virtual_run(6, 2).outputs
