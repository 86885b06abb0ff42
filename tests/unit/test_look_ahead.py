"""A cue begun early: where a straight line leads, and that the verdict knows nothing of it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fusion.drills.ahead import LONGEST_LEAD_S, REACH_S, LookAhead
from fusion.drills.monitor import DrillMonitor
from fusion.outputs.instant import Angles, Doubt, Phase
from fusion.outputs.rep import Verdict
from server.drills import default_drill

DRILL = default_drill()
LOW_DEG = math.degrees(DRILL.low)


@pytest.mark.parametrize("lead_s", [0.0, 0.05, 0.2])
def test_a_straight_way_is_carried_on_exactly(lead_s):
    ahead = LookAhead(lead_s)
    for t_s in np.arange(0.0, 0.3, 0.005):
        expected = ahead.push(t_s, 2.0 - 3.0 * t_s)
    assert expected == pytest.approx(2.0 - 3.0 * (t_s + lead_s))


def test_the_line_is_the_least_squares_one():
    # numpy.polyfit is the reference.
    rng = np.random.default_rng(3)
    t_s, values = np.arange(11) * 0.005, rng.normal(size=11)
    ahead = LookAhead(0.1)
    for t, v in zip(t_s, values, strict=True):
        expected = ahead.push(t, v)
    assert expected == pytest.approx(np.polyval(np.polyfit(t_s, values, 1), t_s[-1] + 0.1))


def test_too_few_samples_a_hole_and_too_long_a_lead():
    ahead = LookAhead(0.1)
    assert [ahead.push(0.0, 0.0), ahead.push(0.005, 1.0)] == [0.0, 1.0]
    assert ahead.push(0.01, 2.0) > 10
    assert ahead.push(0.01 + REACH_S + 0.001, 5.0) == 5.0
    ahead.forget()
    assert ahead.push(0.07, 6.0) == 6.0
    far, capped = LookAhead(10.0), LookAhead(LONGEST_LEAD_S)
    for t_s in (0.0, 0.01, 0.02):
        assert far.push(t_s, t_s) == capped.push(t_s, t_s)


def cupping(lead_s, rate_deg_s=-100.0, until_s=0.2):
    """Cup at a steady rate; where the cue began, and the monitor."""
    monitor = DrillMonitor(DRILL, lead_s=lead_s)
    began = None
    for t_s in np.arange(0.0, until_s, 0.005):
        for edge in monitor.push(
            t_s, Phase.TAKEAWAY, Angles(bend_change_rad=math.radians(rate_deg_s * t_s)), Doubt.NONE
        ):
            began = began or (t_s, edge.error_rad)
    return began, monitor


def test_the_cue_is_that_much_earlier_and_knows_its_side():
    (plain_s, plain_error), _ = cupping(0.0)
    (early_s, early_error), monitor = cupping(0.05)
    assert plain_s - early_s == pytest.approx(0.05, abs=0.0051)
    assert plain_error < 0
    assert early_error < 0
    assert monitor.cue_error_rad < monitor.error_rad < 0


def test_a_verdict_is_of_what_was():
    began, monitor = cupping(0.05, until_s=0.06)
    assert began is not None
    assert monitor.error_rad == 0.0
    assert monitor.verdict()[0] is Verdict.IN_BAND
    assert monitor.out_s == 0.0


def test_it_stops_when_the_way_leads_back_inside():
    monitor = DrillMonitor(DRILL, lead_s=0.05)
    way = [*np.linspace(0, LOW_DEG - 4, 20), *np.linspace(LOW_DEG - 4, 0, 20)]
    told = []
    for i, deg in enumerate(way):
        edges = monitor.push(0.005 * i, Phase.TAKEAWAY, Angles(bend_change_rad=math.radians(deg)), Doubt.NONE)
        told += [(edge.sounding, deg) for edge in edges]
    assert [sounding for sounding, _ in told] == [True, False]
    assert told[1][1] > LOW_DEG + 1.5
