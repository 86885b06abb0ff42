"""The swing detector when instants are missing."""

from __future__ import annotations

import pytest

from fusion.measure import Instant
from fusion.outputs.instant import Angles, Phase
from fusion.swing.detector import SwingDetector


def at_the_ball(t_s: float) -> Instant:
    return Instant(
        t_s=t_s, angles=Angles(shaft_elevation_rad=-1.0, arm_elevation_rad=-1.3), state=None, wrist_possible=True,
        club_turn_rad=0.0, arm_turn_rad=0.0, shaft_off_rad=0.0, shaft_rise_rad=0.0, shaft_trail=0.0,
    )  # fmt: skip


@pytest.mark.parametrize("hole_s", [0.02, 0.9, 1.1, 30.0])
def test_a_hole_of_any_length_at_the_ball_is_survived_and_noted(hole_s):
    detector = SwingDetector(at_the_ball(0.0))
    for k in range(1, 20):
        detector.push(at_the_ball(0.01 * k))
    detector.push(at_the_ball(0.19 + hole_s))
    assert detector._view.hole_s == pytest.approx(hole_s)
    assert detector.phase in (Phase.ADDRESS, Phase.IDLE)
