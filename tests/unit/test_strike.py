import numpy as np
import pytest

from fusion.measure import Instant
from fusion.outputs.instant import Angles
from fusion.swing.strike import StrikeMemory, blow
from tests.motion import NOWHERE


def instants(forearm, club):
    return [
        Instant(
            t_s=0.005 * k, angles=Angles(), state=NOWHERE, wrist_possible=True, club_turn_rad=0.0, arm_turn_rad=0.0,
            shaft_off_rad=0.0, shaft_rise_rad=0.0, shaft_trail=0.0, forearm_force_m_s2=f, club_force_m_s2=c,
        )
        for k, (f, c) in enumerate(zip(forearm, club, strict=True))
    ]  # fmt: skip


T_S = 0.005 * np.arange(40)
SMOOTH = 60.0 + 40.0 * np.sin(2 * np.pi * 4.0 * T_S)


def test_a_smooth_swing_is_no_blow_and_a_spike_on_either_sensor_is():
    spike = SMOOTH + 60.0 * (np.arange(40) == 21)
    assert blow(instants(SMOOTH, 2 * SMOOTH), 0.1) < 0.5
    assert blow(instants(spike, SMOOTH), 0.1) > 2
    assert blow(instants(SMOOTH, spike), 0.1) > 2
    assert blow(instants(SMOOTH, spike), 0.15) < 0.5  # long before the impact asked about


def test_without_forces_nothing_is_known():
    assert blow(instants([None] * 40, SMOOTH), 0.1) is None
    assert blow(instants(SMOOTH[:2], SMOOTH[:2]), 5.0) is None


def test_a_practice_must_have_shown_blows_before_their_lack_means_anything():
    memory = StrikeMemory()
    assert not memory.felt(None, 0.3)
    assert not memory.felt(0.4, 0.3)
    assert not memory.feels
    assert not memory.too_slow(3.0)
    for _ in range(2):
        assert memory.felt(3.0, 0.27)
    assert memory.feels


@pytest.mark.parametrize(("own_s", "this_s", "slow"), [(0.27, 0.54, True), (0.27, 0.5, False), (0.45, 0.6, False)])
def test_slow_is_measured_by_the_players_own_swings(own_s, this_s, slow):
    memory = StrikeMemory()
    for _ in range(3):
        memory.felt(2.0, own_s)
    assert memory.too_slow(this_s) is slow
