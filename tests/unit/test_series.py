"""The record of every instant: nothing left out, nothing twice, and phases that agree with the reps' marks."""

import math

import numpy as np
import pytest

from fusion.outputs.instant import Doubt, Phase, Series
from fusion.outputs.rep import RepRefined
from fusion.pipeline import Pipeline
from fusion.series import PhaseLog
from sensors.events import RawPacket, SensorInfo
from sensors.ids import Role
from server.drills import default_drill
from tests.virtual import virtual_session

MARKS = (Phase.SHAFT_LEVEL, Phase.ARM_LEVEL, Phase.TOP, Phase.IMPACT)


@pytest.fixture(scope="module")
def events():
    return list(virtual_session(6, 2).events())


def recorded(events):
    """Every instant, those that were held back to the end, and the reps as refined."""
    pipeline, moments, reps = Pipeline(default_drill(), series=True), [], []
    for event in events:
        for output in pipeline.push(event):
            if isinstance(output, Series):
                moments.extend(output.moments)
            elif isinstance(output, RepRefined):
                reps.append(output.rep)
    last = [moment for output in pipeline.close() for moment in output.moments]
    return moments, last, reps


@pytest.fixture(scope="module")
def whole(events):
    return recorded(events)


def test_each_instant_comes_once_and_in_order(whole):
    moments, last, _ = whole
    times = np.diff([moment.t_s for moment in [*moments, *last]])
    assert times.min() > 0
    assert times.max() < 0.06  # a packet is lost on the air


def test_a_phase_begins_where_the_rep_says(whole):
    moments, last, reps = whole
    assert len(reps) == 2
    for rep in reps:
        dates = {phase: rep.checkpoints[phase].t_s for phase in MARKS} | {Phase.TAKEAWAY: rep.takeaway_s}
        for phase, at_s in dates.items():
            begun_s = min(m.t_s for m in [*moments, *last] if m.phase is phase and m.t_s > rep.takeaway_s - 0.1)
            assert 0.0 <= begun_s - at_s < 0.006, phase


def test_values_at_a_mark_are_the_reps(whole):
    moments, last, reps = whole
    for rep in reps:
        top = rep.checkpoints[Phase.TOP]
        near = min([*moments, *last], key=lambda moment: abs(moment.t_s - top.t_s))
        assert near.angles.bend_change_rad == pytest.approx(top.angles.bend_change_rad, abs=math.radians(0.5))


def test_data_that_end_in_a_swing_lose_no_instant(events, whole):
    top_s = whole[2][0].checkpoints[Phase.TOP].t_s
    begun_ns = next(event.arrival_ns for event in events if isinstance(event, RawPacket))
    cut = [event for event in events if (event.arrival_ns - begun_ns) * 1e-9 < top_s]
    moments, last, reps = recorded(cut)
    assert not reps
    assert {moment.phase for moment in last} > {Phase.ADDRESS, Phase.TAKEAWAY, Phase.SHAFT_LEVEL}
    n = len(moments) + len(last)
    assert [m.t_s for m in [*moments, *last]] == [m.t_s for m in [*whole[0], *whole[1]][:n]]


def test_a_club_that_falls_silent_in_a_swing_loses_no_instant(events, whole):
    top_s = whole[2][0].checkpoints[Phase.TOP].t_s
    begun_ns = next(event.arrival_ns for event in events if isinstance(event, RawPacket))
    club = next(event.sensor for event in events if isinstance(event, SensorInfo) and event.role is Role.CLUB)

    def heard(event):
        of_club = isinstance(event, RawPacket) and event.sensor == club
        return not (of_club and 0.0 < (event.arrival_ns - begun_ns) * 1e-9 - top_s < 1.5)

    moments, last, _ = recorded([event for event in events if heard(event)])
    assert [m.t_s for m in [*moments, *last]] == [m.t_s for m in [*whole[0], *whole[1]]]
    assert Doubt.SENSOR_MISSING in {moment.doubt for moment in moments}


def test_a_hesitation_keeps_its_first_top_and_the_marks_date_the_last():
    log = PhaseLog()
    for t_s, phase in (
        (1.0, Phase.TAKEAWAY),
        (1.4, Phase.SHAFT_LEVEL),
        (1.8, Phase.TOP),
        (1.9, Phase.SHAFT_LEVEL),
        (2.2, Phase.TOP),
    ):
        log.note(t_s, phase)
    assert log.at([0.9, 1.0, 1.5, 1.85, 2.0, 2.3]) == [
        Phase.ADDRESS, Phase.TAKEAWAY, Phase.SHAFT_LEVEL, Phase.TOP, Phase.SHAFT_LEVEL, Phase.TOP,
    ]  # fmt: skip


def test_a_phase_dated_before_the_one_it_follows_waits_for_it():
    log = PhaseLog()
    log.note(1.0, Phase.TAKEAWAY)
    log.note(0.5, Phase.SHAFT_LEVEL)
    assert log.at([0.7, 1.0]) == [Phase.ADDRESS, Phase.SHAFT_LEVEL]
