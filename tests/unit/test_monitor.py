import math

import pytest

from fusion.drills.monitor import DrillMonitor
from fusion.outputs.instant import Angles, Doubt, Phase
from fusion.outputs.rep import Verdict
from server.drills import default_drill

DRILL = default_drill()
LOW = math.degrees(DRILL.low)


def run(bends_deg, phase=Phase.TAKEAWAY, doubt=Doubt.NONE):
    monitor = DrillMonitor(DRILL)
    edges = []
    for i, bend in enumerate(bends_deg):
        angles = Angles(bend_change_rad=None if bend is None else math.radians(bend))
        edges += [(i, edge.sounding) for edge in monitor.push(i * 0.005, phase, angles, doubt)]
    return monitor, edges


def test_cue_starts_at_the_first_sample_outside_and_stops_only_past_the_hysteresis():
    _, edges = run([0, LOW + 0.1, LOW - 0.1, LOW + 0.5, LOW + 1.4, LOW + 1.6, LOW + 0.1, LOW - 0.1])
    assert edges == [(2, True), (5, False), (7, True)]


def test_error_is_signed_by_side():
    monitor, _ = run([LOW - 4])
    assert math.degrees(monitor.error_rad) == pytest.approx(-4)
    monitor, _ = run([math.degrees(DRILL.high) + 3])
    assert math.degrees(monitor.error_rad) == pytest.approx(3)


def test_silent_outside_the_drills_phases_and_when_in_doubt():
    assert run([LOW - 10], phase=Phase.DOWNSWING)[1] == []
    assert run([LOW - 10], phase=Phase.ADDRESS)[1] == []
    assert run([LOW - 10], doubt=Doubt.GAP)[1] == []
    assert run([None])[1] == []


@pytest.mark.parametrize(
    ("bends", "verdict", "worst"),
    [([0, -3, 2], Verdict.IN_BAND, -3), ([0, LOW - 5, 0], Verdict.BELOW, LOW - 5), ([0, 30, 0], Verdict.ABOVE, 30),
     ([], Verdict.UNKNOWN, None), ([0, None, None], Verdict.UNKNOWN, None)],
)  # fmt: skip
def test_verdict(bends, verdict, worst):
    measured, worst_rad = run(bends)[0].verdict()
    assert measured is verdict
    assert worst_rad == (None if worst is None else pytest.approx(math.radians(worst)))


def test_time_out_of_band_is_summed():
    monitor, _ = run([0, LOW - 1, LOW - 1, LOW - 1, 0])
    assert monitor.out_s == pytest.approx(0.015)


def test_a_swing_that_is_not_cued_is_judged_in_silence():
    monitor = DrillMonitor(DRILL, cued=False)
    for i, bend in enumerate([0, LOW - 5, 0]):
        angles = Angles(bend_change_rad=math.radians(bend))
        assert monitor.push(i * 0.005, Phase.TAKEAWAY, angles, Doubt.NONE) == ()
    assert monitor.verdict() == (Verdict.BELOW, pytest.approx(math.radians(LOW - 5)))
    assert monitor.out_s == pytest.approx(0.005)
