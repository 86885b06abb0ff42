"""Blocks of reps: which are cued, what is counted, and that a test is kept apart."""

from __future__ import annotations

from fusion.drills.course import Block, Course, CueShare
from fusion.drills.desk import Desk
from fusion.drills.swing_log import SwingLog
from fusion.outputs.rep import Verdict
from server.drills import default_drill, our_drills

IN, OUT, UNKNOWN = Verdict.IN_BAND, Verdict.BELOW, Verdict.UNKNOWN


def swing(course, verdicts):
    cued = []
    for verdict in verdicts:
        cued.append(course.cued)
        course = course.after(verdict)
    return course, cued


def course_of(*blocks):
    return Course.of(tuple(Block(n_reps=n, cue=cue) for n, cue in blocks))


def test_without_blocks_every_rep_is_cued_and_nothing_counted():
    course, cued = swing(Course.of(()), [OUT] * 5)
    assert cued == [True] * 5
    assert (course.tallies, course.index, course.over, course.testing) == ((), None, False, False)


def test_the_cue_fades_and_the_test_is_silent():
    course = course_of((2, CueShare.EVERY), (4, CueShare.HALF), (8, CueShare.QUARTER), (2, CueShare.NONE))
    course, cued = swing(course, [IN] * 14)
    assert [n for n in range(14) if cued[n]] == [0, 1, 2, 4, 6, 10]
    assert course.testing
    course, cued = swing(course, [IN] * 3)
    assert cued == [False] * 3
    assert (course.over, course.index, course.testing) == (True, None, False)
    assert [tally.n_swung for tally in course.tallies] == [2, 4, 8, 2]
    assert [tally.n_cued for tally in course.tallies] == [2, 2, 2, 0]


def test_a_rep_that_could_not_be_judged_is_swung_but_not_judged():
    course, _ = swing(course_of((4, CueShare.EVERY)), [IN, UNKNOWN, OUT])
    (tally,) = course.tallies
    assert (tally.n_swung, tally.n_judged, tally.n_in_band, tally.over) == (3, 2, 1, False)


def test_a_rep_begun_before_the_drill_was_changed_counts_for_neither():
    first, second = our_drills()[:2]
    desk = Desk(first.drill)
    begun = desk.monitor()
    desk.set(second.drill)
    desk.count(begun, IN, SwingLog())
    assert desk.course == Course.of(second.drill.blocks)
    desk.count(desk.monitor(), IN, SwingLog())
    assert desk.course.tallies[0].n_in_band == 1


def test_the_default_has_no_blocks():
    assert default_drill().blocks == ()
