"""A practice saved and restored goes on as if nothing had happened, to the last bit."""

import pickle

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fusion.orientation.idle import IdleTilt
from fusion.outputs.instant import Phase
from fusion.pipeline import Pipeline
from sensors.events import MoveStart
from sensors.ids import Side
from server.drills import default_drill
from tests.virtual import virtual_run

RUN = (6, 2)


def through(events, cuts, *, series=False):
    """All outputs, with the pipeline saved, thrown away and restored before each event in `cuts`."""
    pipeline = Pipeline(default_drill(), series=series)
    out = []
    for i, event in enumerate(events):
        if i in cuts:
            pipeline = pickle.loads(pickle.dumps(pipeline))
        out.extend(pipeline.push(event))
    return tuple(out)


@settings(max_examples=3, deadline=None)
@given(cuts=st.sets(st.integers(0, len(virtual_run(*RUN).events) - 1), min_size=1, max_size=8))
def test_cut_anywhere_and_any_number_of_times(cuts):
    run = virtual_run(*RUN)
    assert through(run.events, cuts) == run.outputs


@pytest.mark.parametrize("side", list(Side))
def test_cut_at_every_thirteenth_event_from_set_up_to_finish(side):
    # Thirteen packets are a third of a second: every fit move and every phase of the swing is cut through.
    run = virtual_run(*RUN, side)
    assert through(run.events, range(0, len(run.events), 13)) == run.outputs


def test_cut_inside_a_move_and_inside_a_swing():
    run = virtual_run(*RUN)
    started = [i for i, event in enumerate(run.events) if isinstance(event, MoveStart)]
    first_ns = run.events[0].arrival_ns
    tops = [
        next(i for i, event in enumerate(run.events) if (event.arrival_ns - first_ns) * 1e-9 > truth.top_s)
        for truth in run.truths
    ]
    assert {Phase.TOP, Phase.IMPACT} <= {phase for rep in run.reps for phase in rep.checkpoints}
    assert through(run.events, {*(i + 20 for i in started), *tops}) == run.outputs


def test_the_series_for_the_record_goes_on_too():
    events = virtual_run(*RUN).events
    assert through(events, range(0, len(events), 97), series=True) == through(events, (), series=True)


def test_the_one_that_was_saved_is_not_disturbed():
    run = virtual_run(*RUN)
    pipeline = Pipeline(default_drill())
    out = []
    for i, event in enumerate(run.events):
        if i % 500 == 0:
            other = pickle.loads(pickle.dumps(pipeline))
            other.push(event)
        out.extend(pipeline.push(event))
    assert tuple(out) == run.outputs


@given(n_before=st.integers(0, 400), block=st.integers(1, 19))
@settings(max_examples=30, deadline=None)
def test_the_compiled_filter_between_swings_restores_whole(n_before, block):
    rng = np.random.default_rng(n_before)
    gyr, acc = rng.normal(size=(500, 3)), rng.normal(size=(500, 3)) + np.array([0.0, 0.0, 9.8])
    gyr[:150], acc[:150] = 0.0, [0.0, 0.0, 9.8]  # rests too: its bias estimate is part of the state
    first, second = IdleTilt(200.0), None
    for start in range(0, 500, block):
        if second is None and start >= n_before:
            second = pickle.loads(pickle.dumps(first))
        for tilt in (first, second):
            if tilt is not None:
                here = slice(start, start + block)
                tilt.push(np.arange(500)[here] / 200, gyr[here], acc[here])
    assert second is not None
    assert second.q_earth_from_sensor == first.q_earth_from_sensor
