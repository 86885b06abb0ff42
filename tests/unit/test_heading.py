import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from fusion.joints.heading import relative_heading
from fusion.rotation import about_z, inverse, mul
from sensors.ids import Side

degrees = st.floats(-180, 180)


def quat(rotation):
    return tuple(rotation.as_quat(scalar_first=True))


@given(
    yaw=degrees, lean=st.floats(-35, 35), roll=st.floats(-40, 40), flexion=st.floats(-40, 40),
    deviation=st.floats(-25, 25), d_deg=degrees,
)  # fmt: skip
def test_finds_any_heading_of_a_two_axis_wrist(yaw, lean, roll, flexion, deviation, d_deg):
    forearm = Rotation.from_euler("ZXY", [yaw, 90 + lean, roll], degrees=True)  # hanging or leaning, y up
    hand = forearm * Rotation.from_euler("ZX", [flexion, deviation], degrees=True)
    d = math.radians(d_deg)
    found = relative_heading(quat(forearm), mul(inverse(about_z(d)), quat(hand)), Side.LEFT)
    assert found is not None
    other = abs(math.remainder(found - d, 2 * math.pi)) > 1e-6
    if other:  # the other root: allowed only where it makes the straighter wrist
        turned = Rotation.from_euler("z", found - d) * hand
        strain = sum(map(abs, (forearm.inv() * turned).as_euler("ZXY", degrees=True)))
        assert strain <= abs(flexion) + abs(deviation) + 1e-6
    assume(not other)
    assert math.remainder(found - d, 2 * math.pi) == pytest.approx(0.0, abs=1e-6)


def test_says_nothing_when_the_flexion_axis_is_upright():
    # Forearm level, thumb up: a heading error goes wholly into flexion, and the constraint cannot see it.
    forearm = Rotation.from_euler("x", 0, degrees=True)  # z of the forearm up
    assert relative_heading(quat(forearm), quat(forearm), Side.RIGHT) is None


@pytest.mark.parametrize(
    ("up_axis", "component"), [("z", 0), ("y", 2), ("x", 1)], ids=["into flexion", "into axial", "into deviation"]
)
def test_heading_error_goes_where_the_upright_axis_says(up_axis, component):
    # Arithmetic: with an axis of the wrist upright, an error about the vertical of 10 deg appears there whole.
    error = Rotation.from_euler(up_axis, 10, degrees=True).as_euler("ZXY", degrees=True)
    expected = [0.0, 0.0, 0.0]
    expected[component] = 10.0
    assert list(error) == pytest.approx(expected, abs=1e-9)
