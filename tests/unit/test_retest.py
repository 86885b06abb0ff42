"""When the test of an earlier day is due: another date where the player is, and a night later. Dates worked out by hand."""

from __future__ import annotations

import pytest

from fusion.drills.course import Block, CueShare
from fusion.drills.parse import drill_from
from server.progress.retest import retests
from server.store.records import RepKind
from tests.progress_samples import COURSE, DRILL, TEXT, at, practice

TEXTS = {DRILL: TEXT}
RETEST = (10, RepKind.TEST)
YESTERDAY = practice(at("2026-11-20 17:00"), *COURSE, n_in=7)


def due(points, now):
    return retests(points, TEXTS, now)


def test_it_is_due_the_next_day_and_overdue_later():
    (one,) = due(YESTERDAY, at("2026-11-21 09:00"))
    assert (one.days_since, one.n_reps, one.before.silent.n_in_band) == (1, 10, 7)
    (late,) = due(YESTERDAY, at("2026-11-24 09:00"))
    assert late.days_since == 4
    assert due(YESTERDAY, at("2026-12-05 09:00")) == ()


def test_it_is_the_same_drill_with_nothing_but_the_silent_block():
    (one,) = due(YESTERDAY, at("2026-11-21 09:00"))
    written, drill = drill_from(TEXT), drill_from(one.text)
    assert drill.blocks == (Block(n_reps=10, cue=CueShare.NONE),)
    for name in ("name", "quantity", "phases", "low", "high", "hysteresis", "feel"):
        assert getattr(drill, name) == getattr(written, name), name
    assert retests(YESTERDAY, {DRILL: "spoilt"}, at("2026-11-21 09:00")) == ()


@pytest.mark.parametrize(
    ("begun", "now", "expected"),
    [
        (at("2026-11-20 09:00"), at("2026-11-20 23:00"), False),  # the same day
        (at("2026-11-20 23:20"), at("2026-11-21 00:10"), False),  # midnight alone
        (at("2026-11-20 23:50"), at("2026-11-21 08:00"), True),  # the practice ended the day after it began
        (at("2026-11-20 00:10"), at("2026-11-20 09:00"), False),  # after midnight: this date, though a night has passed
        (
            at("2026-11-20 20:00", 9),
            at("2026-11-20 13:00", -8),
            False,
        ),  # flown east to west: the date is the same still
        (at("2026-11-20 20:00", 9), at("2026-11-21 08:00", -8), True),
        (
            at("2026-11-20 20:00", -8),
            at("2026-11-21 15:00", 9),
            False,
        ),  # the date has changed, the night has not passed
        (at("2026-11-20 20:00", -8), at("2026-11-21 21:00", 9), True),
    ],
)
def test_the_day_is_another_where_the_player_is_and_a_night_has_passed(begun, now, expected):
    assert bool(due(practice(begun, *COURSE), now)) == expected


def test_it_takes_a_test_that_was_swung_to_its_end():
    now = at("2026-11-21 09:00")
    assert due(practice(at("2026-11-20 17:00"), *COURSE[:2]), now) == ()
    assert due(practice(at("2026-11-20 17:00"), COURSE[0], (7, RepKind.TEST), asked=10), now) == ()
    assert due(practice(at("2026-11-20 17:00"), RETEST), now) == ()  # nothing was learnt with the cue


def test_it_is_over_once_swung_and_missed_once_cued():
    now = at("2026-11-22 12:00")
    whole = [*YESTERDAY, *practice(at("2026-11-22 09:00"), RETEST)]
    part = [*YESTERDAY, *practice(at("2026-11-22 09:00"), (4, RepKind.TEST), asked=10)]
    cued = [*YESTERDAY, *practice(at("2026-11-22 09:00"), (1, RepKind.CUED))]
    assert [bool(due(points, now)) for points in (whole, part, cued)] == [False, True, False]
    assert due(whole, at("2026-11-23 09:00")) == ()
    (again,) = due([*whole, *practice(at("2026-11-22 09:30"), *COURSE)], at("2026-11-23 09:00"))
    assert again.before.day == "2026-11-22"


def test_a_day_of_practice_without_a_test_moves_it_on():
    points = [*YESTERDAY, *practice(at("2026-11-21 18:00"), (5, RepKind.CUED))]
    (one,) = due(points, at("2026-11-22 09:00"))
    assert (one.days_since, one.before.cued.n_reps) == (1, 5)
