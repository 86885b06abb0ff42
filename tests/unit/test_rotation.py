import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from fusion import rotation as r
from tests.vectors import cases

component = st.floats(-1, 1)
quats = (
    st.tuples(component, component, component, component)
    .filter(lambda q: sum(c * c for c in q) > 0.01)
    .map(r.normalised)
)
vectors = st.tuples(*[st.floats(-3, 3)] * 3)


def scipy_of(q):
    return Rotation.from_quat(q, scalar_first=True)


@given(quats, quats, vectors)
def test_product_and_rotation_agree_with_scipy(a, b, v):
    assert r.rotate(r.mul(a, b), v) == pytest.approx(tuple((scipy_of(a) * scipy_of(b)).apply(v)), abs=1e-9)


@given(quats)
def test_a_frame_from_its_axes_agrees_with_scipy(q):
    matrix = scipy_of(q).as_matrix()
    expected = Rotation.from_matrix(matrix).as_quat(scalar_first=True)
    assert r.from_axes(*(tuple(axis) for axis in matrix.T.tolist())) == pytest.approx(tuple(expected), abs=1e-14)


@given(quats, vectors)
def test_inverse_undoes(q, v):
    assert r.rotate(r.inverse(q), r.rotate(q, v)) == pytest.approx(v, abs=1e-9)


@given(quats, quats)
def test_relative_is_inverse_and_product_to_the_last_bit(a, b):
    assert r.relative(a, b) == r.mul(r.inverse(a), b)


@given(vectors)
def test_exp_agrees_with_scipy_rotation_vectors(phi):
    expected = Rotation.from_rotvec(phi).as_quat(scalar_first=True)
    assert abs(float(np.dot(r.exp(phi), expected))) == pytest.approx(1.0, abs=1e-12)


def test_exp_of_a_tiny_turn_is_unit_and_exact_to_first_order():
    assert r.exp((2e-8, 0.0, 0.0)) == pytest.approx((1.0, 1e-8, 0.0, 0.0), abs=1e-15)


@given(
    vectors.filter(lambda v: math.hypot(*v) > 0.1).map(r.unit),
    vectors.filter(lambda v: math.hypot(*v) > 0.1).map(r.unit),
)
def test_shortest_takes_one_direction_to_the_other(a, b):
    assert r.rotate(r.shortest(a, b), a) == pytest.approx(b, abs=1e-4)


@pytest.mark.parametrize("a", [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)])
def test_shortest_of_opposites_is_a_half_turn(a):
    opposite = tuple(-c for c in a)
    assert r.rotate(r.shortest(a, opposite), a) == pytest.approx(opposite, abs=1e-9)


@given(quats)
def test_q_and_minus_q_are_the_same_turn(q):
    minus = tuple(-c for c in q)
    assert r.angle(minus) == pytest.approx(r.angle(q), abs=1e-9)
    assert math.remainder(r.twist(minus, (0, 0, 1)) - r.twist(q, (0, 0, 1)), 2 * math.pi) == pytest.approx(0, abs=1e-9)


def test_interpolation_stays_within_a_hundredth_of_a_degree_of_the_great_arc():
    # A club at 2000 deg/s turns 10 deg in one sample.
    a, b = r.IDENTITY, r.exp((0.0, math.radians(10), 0.0))
    for fraction in (0.1, 0.25, 0.5, 0.9):
        off = r.mul(r.inverse(r.exp((0.0, fraction * math.radians(10), 0.0))), r.between(a, b, fraction))
        assert math.degrees(r.angle(off)) < 0.01


@pytest.mark.parametrize("case", cases("swing_twist"), ids=lambda c: f"phi {c['phi_deg']}")
@pytest.mark.parametrize("motion", ["flexion", "roll"])
def test_face_twist_and_shaft_change_trade_places_as_the_wrist_sets(case, motion):
    phi, turn = math.radians(case["phi_deg"]), math.radians(20)
    distal, thumb = (0.0, -1.0, 0.0), (0.0, 0.0, 1.0)  # a right arm
    shaft = tuple(math.cos(phi) * d + math.sin(phi) * t for d, t in zip(distal, thumb, strict=True))
    axis = (0.0, 0.0, 1.0) if motion == "flexion" else distal
    q = r.exp(tuple(turn * a for a in axis))
    assert math.degrees(r.angle_between(shaft, r.rotate(q, shaft))) == pytest.approx(
        case[motion]["shaft_deg"], abs=0.01
    )
    assert math.degrees(r.twist(q, shaft)) == pytest.approx(case[motion]["twist_deg"], abs=0.01)
