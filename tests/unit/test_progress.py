"""Progress in figures, against SciPy (`binomtest`, `theilslopes`, `kendalltau`) and NumPy's percentiles."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from scipy.stats import binomtest, kendalltau, theilslopes

from server.progress.points import Way, ways
from server.progress.retention import retentions
from server.progress.sample import ENOUGH_REPS, sample, wilson
from server.progress.summary import progress
from server.progress.trend import ENOUGH_DAYS, theil_sen, trend
from server.store.records import RepKind
from tests.progress_samples import COURSE, DRILL, at, practice

RETEST = (10, RepKind.TEST)


@pytest.mark.parametrize("n", [1, 4, 10, 38, 400])
def test_the_interval_of_a_share_is_wilsons(n):
    for n_in in range(0, n + 1, max(n // 10, 1)):
        found = wilson(n_in, n)
        expected = binomtest(n_in, n).proportion_ci(confidence_level=0.95, method="wilson")
        assert (found.low, found.high) == pytest.approx((expected.low, expected.high), abs=1e-12)
        assert found.low <= found.share == n_in / n <= found.high
    with pytest.raises(ValueError):
        wilson(0, 0)


def test_median_and_spread_are_those_of_numpy():
    points = practice(at("2026-11-20 10:00"), (9, RepKind.CUED), n_in=6)
    unjudged = replace(points[0], verdict="unknown", worst=None, number=99)
    found = sample([*points, unjudged])
    values = [point.worst for point in points]
    assert found.median == pytest.approx(np.median(values))
    assert found.quartiles == pytest.approx(tuple(np.percentile(values, [25, 75])))
    assert (found.n_reps, found.n_judged, found.n_in_band, found.n_missing) == (10, 9, 6, 0)
    few = sample(points[:4])
    assert few.quartiles is None
    assert few.n_missing == ENOUGH_REPS - 4
    assert sample([unjudged]).share is None


def test_the_slope_and_its_interval_are_those_of_theil_and_sen():
    random = np.random.default_rng(5)
    for n in (5, 6, 9, 20):
        for ties in (False, True):
            x = np.cumsum(random.integers(1, 6, n)).astype(float)
            y = random.normal(size=n) + 0.1 * x
            y = np.round(y) if ties else y
            found = theil_sen(list(x), list(y))
            expected = theilslopes(y, x, alpha=0.95)
            assert (found.value, found.low, found.high) == pytest.approx(
                (expected.slope, expected.low_slope, expected.high_slope), abs=1e-12
            )


def test_why_six_reps_and_five_days():
    # The range of n values misses the median where all lie on one side of it: as n coins that fall alike.
    for n, enough in ((ENOUGH_REPS - 1, False), (ENOUGH_REPS, True)):
        all_on_one_side = binomtest(n, n, 0.5).pvalue
        assert (1 - all_on_one_side >= 0.95) == enough
    for n, enough in ((ENOUGH_DAYS - 1, False), (ENOUGH_DAYS, True)):
        least = kendalltau(range(n), range(n), method="exact").pvalue
        assert least == pytest.approx(2 / math.factorial(n))
        assert (least <= 0.05) == enough
    assert sum(1 for order in permutations(range(4)) if order in ((0, 1, 2, 3), (3, 2, 1, 0))) / 24 == 1 / 12


def test_four_days_are_no_trend_and_five_are():
    days = [(739000 + i, 2.0 * i) for i in range(5)]
    few = trend(days[:4])
    assert few.per_week is None
    assert (few.missing_days, few.missing_reps) == (1, ENOUGH_REPS)
    assert trend(days).per_week.value == pytest.approx(14.0)
    assert trend([]).missing_reps == ENOUGH_DAYS * ENOUGH_REPS


def test_days_with_few_reps_count_for_no_trend():
    points = [
        rep
        for day in range(20, 26)
        for rep in practice(at(f"2026-11-{day} 10:00"), (4 if day == 22 else 6, RepKind.CUED))
    ]
    ((one,),) = [drill.ways for drill in progress(points)]
    assert [len(one.days), one.trend.n_days] == [6, 5]
    assert one.trend.per_week.value == 0.0


def test_each_way_stands_for_itself():
    first = practice(at("2026-11-20 10:00"), *COURSE, n_in=7)
    second = practice(at("2026-11-21 09:00"), RETEST, *COURSE, n_in=4)
    other = practice(at("2026-11-22 09:00"), (3, RepKind.CUED), drill=replace(DRILL, high=20.0))
    newest, found = progress([*second, *other, *first])
    assert newest.drill.high == 20.0
    assert [(figures.way, [day.sample.n_in_band for day in figures.days]) for figures in found.ways] == [
        (Way.CUED, [7, 4]),
        (Way.SILENT, [7, 4]),
        (Way.TEST, [7, 4]),
        (Way.NEXT_DAY, [4]),
    ]
    (kept,) = found.retentions
    assert (kept.day, kept.before.day, kept.days_between) == ("2026-11-21", "2026-11-20", 1)
    assert (kept.test.n_in_band, kept.before.cued.n_in_band, kept.before.silent.n_in_band) == (4, 7, 7)


def test_a_day_is_remembered_by_its_last_block_that_holds_enough():
    blocks = ((10, RepKind.CUED), (7, RepKind.CUED), (2, RepKind.CUED))
    points = [*practice(at("2026-11-20 10:00"), *blocks), *practice(at("2026-11-23 10:00"), RETEST)]
    (kept,) = retentions(ways(points))
    assert (kept.before.cued.n_reps, kept.before.silent, kept.days_between) == (7, None, 3)
    points = [*practice(at("2026-11-20 10:00"), *blocks[2:] * 2), *practice(at("2026-11-23 10:00"), RETEST)]
    (kept,) = retentions(ways(points))
    assert kept.before.cued.n_reps == 4


def test_a_test_without_an_earlier_day_or_after_a_cued_rep_is_no_next_day_test():
    alone = practice(at("2026-11-20 10:00"), RETEST)
    assert {one.way for one in ways(alone)} == {Way.TEST}
    late = [*practice(at("2026-11-20 10:00"), *COURSE), *practice(at("2026-11-21 10:00"), (1, RepKind.CUED), RETEST)]
    assert Way.NEXT_DAY not in {one.way for one in ways(late)}
