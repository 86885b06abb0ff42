import math

import numpy as np
import pytest

from fusion.rotation import exp, mul
from fusion.shaft.pitch import elevation, pitch
from fusion.shaft.twist import AxialTurn


def direction(elevation_deg, outward=True):
    e = math.radians(elevation_deg)
    return (0.0, math.cos(e) if outward else -math.cos(e), math.sin(e))


@pytest.mark.parametrize(
    ("length_in", "lie_deg", "height_in", "reach_in"),
    [(39, 58, 33.07, 20.67), (38, 60, 32.91, 19.00), (37, 62, 32.67, 17.37)],
)
def test_pitch_at_address_is_the_lie(length_in, lie_deg, height_in, reach_in):
    # Lie geometry: butt height = L sin(lie), reach = L cos(lie).
    shaft = (0.0, reach_in / length_in, -height_in / length_in)
    assert math.degrees(pitch(shaft)) == pytest.approx(lie_deg, abs=0.02)
    assert math.degrees(elevation(shaft)) == pytest.approx(-lie_deg, abs=0.02)


def test_pitch_is_of_the_line_so_head_up_and_head_down_read_alike():
    assert pitch(direction(-60)) == pytest.approx(pitch(direction(60, outward=False)))


def test_upright_is_ninety_and_past_it_leans_over_the_ball():
    assert math.degrees(pitch((0.0, 0.0, 1.0))) == pytest.approx(90)
    assert math.degrees(pitch(direction(70))) == pytest.approx(110)
    assert math.degrees(pitch(direction(70, outward=False))) == pytest.approx(70)


def test_says_nothing_when_the_shaft_points_along_the_line_of_view():
    assert pitch((1.0, 0.0, 0.0)) is None
    assert pitch((math.sqrt(1 - 0.49**2), 0.49, 0.0)) is None
    assert pitch((math.sqrt(1 - 0.51**2), 0.51, 0.0)) is not None


def test_axial_turn_passes_half_a_turn_without_a_jump():
    axis = (0.0, 1.0, 0.0)
    q = (1.0, 0.0, 0.0, 0.0)
    turn = AxialTurn(axis, q)
    totals = []
    for _ in range(500):
        q = mul(q, exp(tuple(math.radians(0.9) * a for a in axis)))
        totals.append(math.degrees(turn.push(q)))
    assert totals[-1] == pytest.approx(450.0, abs=1e-6)
    assert np.max(np.abs(np.diff(totals) - 0.9)) < 1e-6
