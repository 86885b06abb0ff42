from __future__ import annotations

from itertools import accumulate

import pytest

from sensors.battery import BatteryState, battery_state
from server.battery_advice import battery_advice

GOOD, LOW, EMPTY = BatteryState.GOOD, BatteryState.LOW, BatteryState.NEARLY_EMPTY


def states(*levels_pct):
    return list(
        accumulate(levels_pct, lambda before, pct: battery_state(pct, before=before), initial=BatteryState.UNKNOWN)
    )[1:]


@pytest.mark.parametrize(("pct", "state"), [(100, GOOD), (21, GOOD), (20, LOW), (6, LOW), (5, EMPTY), (0, EMPTY)])
def test_limits_of_a_first_level(pct, state):
    assert states(pct) == [state]


def test_a_level_that_wavers_does_not_flicker():
    assert states(21, 20, 21, 20, 22, 23, 24) == [GOOD, LOW, LOW, LOW, LOW, LOW, GOOD]
    assert states(6, 5, 6, 8, 9, 23, 24) == [LOW, EMPTY, EMPTY, EMPTY, LOW, LOW, GOOD]


def test_a_fresh_battery_counts_at_once():
    assert states(3, 100) == [EMPTY, GOOD]


def test_what_is_said():
    assert battery_advice(GOOD, 80) == battery_advice(BatteryState.UNKNOWN, None) == ""
    assert "low (17 %)" in battery_advice(LOW, 17)
    assert "nearly empty (4 %)" in battery_advice(EMPTY, 4)
