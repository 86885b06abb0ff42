"""A simulated student who reacts to the cue, through a whole course and the real pipeline.

It checks the bookkeeping: that the cues come by the schedule, that what is counted is what was swung, and that a change that is
there shows in the silent test, apart from what was reached with the cue. That people change so is no claim of it.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from fusion.drills.course import Block, CueShare
from fusion.drills.quantity import STATED_ERROR, Quantity
from fusion.outputs.rep import Verdict
from server.drills import default_drill
from server.store.records import RepKind
from tests.reacting import both

BLOCKS = ((4, CueShare.EVERY), (3, CueShare.HALF), (2, CueShare.QUARTER), (4, CueShare.NONE))
DRILL = replace(default_drill(), blocks=tuple(Block(n_reps=n, cue=cue) for n, cue in BLOCKS))
SCHEDULED = [*range(4), 4, 6, 7]
TEST = slice(9, 13)
QUICKEST_NS = 184_000_000
"""Simple reaction to a sound, mean of 100 people: bibliomed.org/?mno=249613."""
ERROR_DEG = STATED_ERROR[Quantity.BEND_CHANGE]


@pytest.fixture(scope="module")
def courses():
    return tuple(both(DRILL, seed=3))


def outside_deg(reps):
    """How far each was outside the band at its worst."""
    return np.array([math.degrees(abs(DRILL.outside(rep.worst))) for rep in reps])


def test_every_swing_is_counted_once_and_cued_by_the_schedule(courses):
    for told in courses:
        assert len(told.reps) == len(told.faults) == 13
        assert [n for n, rep in enumerate(told.reps) if rep.cued] == SCHEDULED
        assert [rep.testing for rep in told.reps] == [False] * 9 + [True] * 4
        for rep, cues in zip(told.reps, told.cues, strict=True):
            assert bool(cues) == (rep.cued and rep.verdict is not Verdict.IN_BAND)
        kinds = [RepKind.CUED if n in SCHEDULED else RepKind.SILENT for n in range(9)] + [RepKind.TEST] * 4
        assert [rep.kind for rep in told.remembered] == kinds
        assert [rep.block for rep in told.remembered] == [0, 0, 0, 0, 1, 1, 1, 2, 2, 3, 3, 3, 3]
        assert [rep.verdict for rep in told.remembered] == [rep.verdict.value for rep in told.reps]


def test_nothing_changes_within_a_swing_before_a_person_could_react_and_then_it_does(courses):
    hearing, deaf = (told.readouts for told in courses)
    arrived_ns = next(out.arrival_ns for out in hearing if out.t_s >= courses[0].cues[0][0])
    begins_ns = arrived_ns + QUICKEST_NS
    same = [a == b for a, b in zip(hearing, deaf, strict=True)]
    assert all(is_same for is_same, out in zip(same, hearing, strict=True) if out.arrival_ns <= begins_ns)
    assert same.index(False) > 0
    assert hearing[same.index(False)].arrival_ns - begins_ns < 0.15e9, "the packet on its way, and a smooth beginning"
    first = [told.reps[0] for told in courses]
    assert first[0].out_s < first[1].out_s - 0.1


def test_the_silent_test_shows_what_was_learnt_and_nothing_where_nothing_was(courses):
    hearing, deaf = (outside_deg(told.reps) for told in courses)
    assert hearing[0] - hearing[TEST].mean() > 2 * ERROR_DEG
    assert abs(deaf[0] - deaf[TEST].mean()) < ERROR_DEG
    assert deaf[TEST].mean() - hearing[TEST].mean() > 2 * ERROR_DEG


def test_what_is_counted_is_what_was_swung(courses):
    """Where no cue changed a swing on its way, the figure of the rep follows the fault that the model swung with."""
    pairs = [
        (fault, rep.worst)
        for told, hears in zip(courses, (True, False), strict=True)
        for fault, rep, cues in zip(told.faults, told.reps, told.cues, strict=True)
        if not (hears and cues)
    ]
    faults, worst = np.array(pairs).T
    assert np.corrcoef(faults, worst)[0, 1] < -0.95
