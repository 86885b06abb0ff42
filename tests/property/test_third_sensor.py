"""A third sensor, worn elsewhere, is recorded and listed, and moves no number of the pair by a single bit."""

from __future__ import annotations

import heapq
import itertools
from dataclasses import replace

import pytest

from fusion.outputs.instant import Doubt, Readout
from fusion.outputs.rep import Rep
from fusion.pipeline import Pipeline
from sensors.events import LinkChange, LinkState, RawPacket, SensorInfo, TrimSet
from sensors.ids import PAIR, WORN, Move, Role, SensorId
from sensors.profiles.open_imu import NAME
from sensors.record.reader import read_events
from sensors.record.writer import Recorder
from sensors.trim import Trim
from server.drills import default_drill
from tests.integration.ble.packet_supply import synthetic
from tests.virtual import virtual_run

OTHERS = [role for role in WORN if role not in PAIR]
THIRD = SensorId("third")


@pytest.fixture(scope="module")
def pair_events():
    return virtual_run(seed=3, n_swings=1).events


def third_events(role, first_ns, last_ns):
    """Random counts at full rate beside the whole practice, with a restart and a lost stretch in it."""
    intro = SensorInfo(arrival_ns=first_ns, sensor=THIRD, role=role, profile=NAME, name="Reed C")
    yield intro
    yield LinkChange(arrival_ns=first_ns, sensor=THIRD, state=LinkState.STREAMING)
    yield TrimSet(arrival_ns=first_ns, sensor=THIRD, trim=Trim(gyr_offset_rad_s=(0.1, 0.0, 0.0)))
    for i, (due_s, payload) in enumerate(itertools.chain(itertools.islice(synthetic(7), 100), synthetic(8))):
        at_ns = first_ns + round(due_s * 1e9) + (i > 99) * 5_500_000_000
        if at_ns > last_ns:
            return
        if not 40 <= i < 45:
            yield RawPacket(arrival_ns=at_ns, sensor=THIRD, payload=payload)


def together(pair, role):
    first_ns, last_ns = pair[0].arrival_ns, pair[-1].arrival_ns
    return list(heapq.merge(pair, third_events(role, first_ns, last_ns), key=lambda event: event.arrival_ns))


def said(events):
    pipeline = Pipeline(default_drill())
    out = [output for event in events for output in pipeline.push(event)]
    return out, pipeline


@pytest.mark.parametrize("role", OTHERS)
def test_the_numbers_of_the_pair_are_the_same_to_the_last_bit(pair_events, role):
    alone, _ = said(pair_events)
    with_third, pipeline = said(together(pair_events, role))
    assert sum(isinstance(output, Rep) for output in alone) == 1
    assert with_third == alone
    assert [repr(output) for output in with_third if isinstance(output, Readout)] == [
        repr(output) for output in alone if isinstance(output, Readout)
    ]  # repr gives every bit of a float, and tells -0.0 from 0.0
    health = pipeline.health(pair_events[-1].arrival_ns)
    assert [one.role for one in health] == [Role.FOREARM, Role.CLUB, role]
    assert health[2].n_samples > 1000
    assert health[2].n_lost == 50
    assert health[2].rate_hz == pytest.approx(200, rel=0.1)


def test_it_is_recorded_whole_and_replays_the_same(pair_events, tmp_path):
    events = together(pair_events, Role.PELVIS)
    with Recorder(tmp_path / "three.mcap") as recorder:
        for event in events:
            recorder.write(event)
    read = list(read_events(tmp_path / "three.mcap"))
    assert read == events


def exchanged(events, at):
    """The two sensors change places by introduction from event `at` on."""
    infos = {e.role: e for e in events if isinstance(e, SensorInfo)}
    swapped = [
        replace(infos[a], role=b, arrival_ns=events[at].arrival_ns)
        for a, b in ((Role.FOREARM, Role.CLUB), (Role.CLUB, Role.FOREARM))
    ]
    return [*events[:at], *swapped, *events[at:]]


def test_sensors_that_change_places_are_fitted_anew_and_keep_their_calibration(pair_events):
    trim = Trim(gyr_offset_rad_s=(0.02, 0.0, 0.0))
    infos = [e for e in pair_events if isinstance(e, SensorInfo)]
    trims = [TrimSet(arrival_ns=infos[-1].arrival_ns, sensor=infos[0].sensor, trim=trim)]
    at = pair_events.index(infos[-1]) + 1
    events = [*pair_events[:at], *trims, *pair_events[at:]]
    _, pipeline = said(exchanged(events, len(events) - 40))
    assert pipeline.fit.taken == ()
    assert pipeline.body_fit is None
    assert pipeline._kit.sensors == {Role.FOREARM: infos[1].sensor, Role.CLUB: infos[0].sensor}
    assert pipeline._kit.tracks[Role.CLUB].trim == trim


def test_one_that_is_taken_off_is_followed_and_no_longer_used(pair_events):
    info = next(e for e in pair_events if isinstance(e, SensorInfo) and e.role is Role.CLUB)
    at = len(pair_events) // 2
    off = replace(info, role=Role.SPARE, arrival_ns=pair_events[at].arrival_ns)
    out, pipeline = said([*pair_events[:at], off, *pair_events[at:]])
    assert [one.role for one in pipeline.health(pair_events[-1].arrival_ns)] == [Role.FOREARM, Role.SPARE]
    assert Move.NEUTRAL not in pipeline.fit.taken  # what was fitted before, is fitted anew
    assert [output.doubt for output in out if isinstance(output, Readout)][-1] is Doubt.SENSOR_MISSING
