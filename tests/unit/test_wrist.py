import math

import pytest
from scipy.spatial.transform import Rotation

from fusion.joints.wrist import anatomical_angles
from fusion.rotation import exp
from sensors.ids import Side
from tests.vectors import cases


@pytest.mark.parametrize("case", cases("wrist_movements"), ids=lambda c: f"{c['movement']}, {c['side']}")
def test_every_movement_has_its_isb_sign_on_both_arms(case):
    turn = math.radians(case["turn_deg"])
    angles = anatomical_angles(exp(tuple(turn * a for a in case["axis"])), Side(case["side"]))
    measured = [math.degrees(a) for a in (angles.flexion_rad, angles.ulnar_rad, angles.axial_rad)]
    assert measured == pytest.approx([case["flexion_deg"], case["ulnar_deg"], case["axial_deg"]], abs=1e-9)


def test_decodes_z_x_y_and_no_other_order():
    # R = Rz(30) Rx(15) Ry(-20), quaternion computed with scipy; decoded as Z-Y-X it would read (24.6, -19.3, 15.9).
    angles = anatomical_angles((0.948979, 0.168722, -0.133027, 0.230813), Side.RIGHT)
    measured = [math.degrees(a) for a in (angles.flexion_rad, angles.ulnar_rad, angles.axial_rad)]
    assert measured == pytest.approx([30.0, 15.0, -20.0], abs=1e-3)


def test_agrees_with_scipy_over_the_range_of_a_wrist():
    for flexion in range(-90, 91, 30):
        for deviation in range(-40, 41, 20):
            for axial in (-10, 0, 10):
                q = Rotation.from_euler("ZXY", [flexion, deviation, axial], degrees=True).as_quat(scalar_first=True)
                right = anatomical_angles(tuple(q), Side.RIGHT)
                assert [right.flexion_rad, right.ulnar_rad, right.axial_rad] == pytest.approx(
                    [math.radians(v) for v in (flexion, deviation, axial)], abs=1e-9
                )


@pytest.mark.parametrize(
    ("flexion_deg", "ulnar_deg", "possible"),
    # Largest adult means of the textbook table named in fusion/joints/wrist.py, and ten degrees past them and more.
    [(93, 0, True), (-86, 0, True), (0, 41, True), (0, -26, True), (105, 0, False), (-98, 0, False), (0, 53, False),
     (0, -38, False)],
)  # fmt: skip
def test_knows_what_a_wrist_cannot_do(flexion_deg, ulnar_deg, possible):
    q = Rotation.from_euler("ZX", [flexion_deg, ulnar_deg], degrees=True).as_quat(scalar_first=True)
    assert anatomical_angles(tuple(q), Side.RIGHT).possible is possible
