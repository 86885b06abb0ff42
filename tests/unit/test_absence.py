"""Why a sensor has gone: from how it was heard, its battery, and which end let go."""

from __future__ import annotations

import pytest

from sensors.events import LinkReason
from sensors.sources.absence import EndedBy, Evidence, SignalTrail, absence_reason, drop_reason


@pytest.mark.parametrize(
    ("evidence", "dropped", "unheard"),
    [
        (Evidence(), LinkReason.DROPPED, LinkReason.NOT_FOUND),
        (Evidence(weak=True), LinkReason.OUT_OF_RANGE, LinkReason.OUT_OF_RANGE),
        (Evidence(weak=True, ended_by=EndedBy.TIMEOUT), LinkReason.OUT_OF_RANGE, LinkReason.OUT_OF_RANGE),
        (Evidence(battery_pct=5), LinkReason.BATTERY_EMPTY, LinkReason.BATTERY_EMPTY),
        (Evidence(battery_pct=6), LinkReason.DROPPED, LinkReason.NOT_FOUND),
        (Evidence(battery_pct=3, weak=True), LinkReason.BATTERY_EMPTY, LinkReason.BATTERY_EMPTY),
        (Evidence(ended_by=EndedBy.SENSOR, weak=True), LinkReason.SWITCHED_OFF, LinkReason.SWITCHED_OFF),
        (Evidence(ended_by=EndedBy.TIMEOUT), LinkReason.DROPPED, LinkReason.NOT_FOUND),
        (Evidence(ended_by=EndedBy.THIS_MACHINE), LinkReason.DROPPED, LinkReason.NOT_FOUND),
    ],
)
def test_evidence_gives_the_reason(evidence, dropped, unheard):
    assert drop_reason(evidence) is dropped
    assert absence_reason(evidence) is unheard


@pytest.mark.parametrize(
    ("heard_dbm", "weak"),
    [
        ([], False),
        ([-60], False),
        ([-85], True),
        ([-60, -80], True),  # fading
        ([-70, -80], False),  # no more than a hand over it
        ([-50, -65], False),  # fading, and still strong
        ([-60, -80, -62], False),  # it came back
        ([-50, -76, -76, -76, -76, -76], False),  # far, and steady since
        ([127, 0], False),  # no signal strengths at all
    ],
)
def test_a_weak_or_fading_signal(heard_dbm, weak):
    trail = SignalTrail()
    for at_s, rssi_dbm in enumerate(heard_dbm):
        trail.note(rssi_dbm, float(at_s))
    assert trail.is_weak(now_s=30.0) is weak


def test_a_signal_of_long_ago_says_nothing():
    trail = SignalTrail()
    trail.note(-90, 10.0)
    assert trail.is_weak(70.0)
    assert not trail.is_weak(70.1)
