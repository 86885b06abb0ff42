"""The coach's "what if": trade facts out of the geometry, and published first-order figures of wrist, face and shaft."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from fusion.calibration.fit import BodyFit
from fusion.club_state import ClubState, sensitivity, toe, what_if
from fusion.joints.wrist import anatomical_angles, wrist_rotation
from fusion.pose import Posing, worn_along
from fusion.rotation import mul
from fusion.shaft.butt_line import ButtLine
from sensors.ids import Side

SIDES = [Side.LEFT, Side.RIGHT]
deg = math.radians


def quat(rotation):
    return tuple(rotation.as_quat(scalar_first=True).tolist())


def plain_fit(side, set_rad=0.0):
    """Sensors along the segments; the shaft lies in the radial-ulnar plane, set toward the thumb from the hand's direction."""
    thumb = -1.0 if side is Side.LEFT else 1.0
    return BodyFit(
        side=side, q_sensor_from_forearm=(1.0, 0.0, 0.0, 0.0), q_sensor_from_hand=(1.0, 0.0, 0.0, 0.0),
        shaft_sensor=(0.0, -math.cos(set_rad), thumb * math.sin(set_rad)), skin_lag=0.0,
        covariance=tuple(tuple(row) for row in np.zeros((8, 8)).tolist()),
    )  # fmt: skip


def backswing(side, *, arm_deg, hinge_deg=-20.0, roll_deg=60.0, bend_deg=0.0):
    """A lead arm `arm_deg` round a plane of 60 degrees; modelled for the left, the right is its mirror image.

    Address earth: x right, y outward, z up. The arm's plane is turned about x and the arm in it about the plane's normal.
    """
    left = Rotation.from_euler("x", -60, degrees=True) * Rotation.from_euler("x", 180, degrees=True)
    forearm = left * Rotation.from_euler("z", arm_deg, degrees=True) * Rotation.from_euler("y", -roll_deg, degrees=True)
    if side is Side.RIGHT:
        mirror = np.diag([-1.0, 1.0, 1.0])
        forearm = Rotation.from_matrix(mirror @ forearm.as_matrix() @ np.diag([1.0, 1.0, -1.0]))
    q_forearm = quat(forearm)
    wrist = wrist_rotation(flexion_rad=deg(bend_deg), ulnar_rad=deg(hinge_deg), axial_rad=0.0, side=side)
    return ClubState(q_forearm, mul(q_forearm, wrist))


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("arm_deg", [70.0, 80.0, 90.0])
def test_the_trade_facts(side, arm_deg):
    # Common practice, no source: cupping steepens and opens, bowing flattens and shuts, rolling in the pronation sense flattens
    # further; the butt of a steep shaft points well inside the ball line, a flatter one's just inside.
    fit, state = plain_fit(side, deg(35.0)), backswing(side, arm_deg=arm_deg)
    butt = ButtLine(hub_m=(0.0, -0.55, 1.35), arm_length_m=0.62, sd_m=0.05)
    now = what_if(state, fit, butt)
    bowed = what_if(state, fit, butt, bend_rad=deg(15))
    cupped = what_if(state, fit, butt, bend_rad=deg(-15))
    rolled = what_if(state, fit, butt, bend_rad=deg(15), roll_rad=deg(10))
    assert rolled.shaft_pitch_rad < bowed.shaft_pitch_rad < now.shaft_pitch_rad < cupped.shaft_pitch_rad
    assert cupped.face_turn_rad < 0 < bowed.face_turn_rad
    assert now.face_turn_rad == pytest.approx(0, abs=1e-12)
    assert bowed.butt_line_m < now.butt_line_m < cupped.butt_line_m
    by_bend, by_roll = sensitivity(state, fit)
    assert by_bend < 0
    assert by_roll < 0


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("seed", range(5))
def test_poses_alone_give_the_same_what_if_as_the_sensors(side, seed):
    """However the sensors lie: what is worked out from the poses of a recording is what the live fit would say."""
    draw = np.random.default_rng(seed)
    fit = replace(
        plain_fit(side, deg(draw.uniform(0, 60))),
        q_sensor_from_hand=quat(Rotation.random(rng=draw)),
    )
    address, state = (ClubState(quat(Rotation.random(rng=draw)), quat(Rotation.random(rng=draw))) for _ in range(2))
    butt = ButtLine(hub_m=(0.0, -0.55, 1.35), arm_length_m=0.62, sd_m=0.05, arm=address.arm())
    there, as_worn = worn_along(Posing(address, fit).of(state), side)
    for bend_deg, roll_deg in ((0, 0), (12, 0), (0, -25), (-30, 40)):
        by = {"bend_rad": deg(bend_deg), "roll_rad": deg(roll_deg)}
        expected, found = what_if(state, fit, butt, **by), what_if(there, as_worn, butt, **by)
        for name in ("shaft_elevation_rad", "shaft_pitch_rad", "butt_line_m", "face_turn_rad"):
            assert getattr(found, name) == pytest.approx(getattr(expected, name), abs=1e-9), name


@pytest.mark.parametrize("side", SIDES)
def test_a_changed_bend_is_that_bend(side):
    fit, state = plain_fit(side), backswing(side, arm_deg=70.0, bend_deg=-12.0)
    then = state.with_wrist(fit, bend_rad=deg(20.0))
    turned = Rotation.from_quat(then.q_earth_from_forearm, scalar_first=True).inv() * Rotation.from_quat(
        then.q_earth_from_club, scalar_first=True
    )
    wrist = anatomical_angles(quat(turned), side)
    assert math.degrees(wrist.flexion_rad) == pytest.approx(8.0)
    assert math.degrees(wrist.ulnar_rad) == pytest.approx(-20.0)


# Change of shaft direction and face twist for 20 deg of flexion, and for 20 deg of forearm roll, by the angle between shaft and
# forearm: computed from geometry in the project's list of check values (G1 to G4), independent of this code.
@pytest.mark.parametrize(
    ("set_deg", "flex_shaft", "flex_face", "roll_shaft", "roll_face"),
    [
        (0, 20.0, 0.0, 0.0, 20.0),
        (30, 17.30, 10.08, 9.96, 17.36),
        (60, 9.96, 17.36, 17.30, 10.08),
        (90, 0.0, 20.0, 20.0, 0.0),
    ],
)
@pytest.mark.parametrize("side", SIDES)
def test_how_a_turn_is_shared_between_shaft_and_face(side, set_deg, flex_shaft, flex_face, roll_shaft, roll_face):
    fit = plain_fit(side, deg(set_deg))
    state = backswing(side, arm_deg=40.0, hinge_deg=0.0)
    for kwargs, shaft_deg, face_deg, sense in (
        ({"bend_rad": deg(20)}, flex_shaft, flex_face, 1.0), ({"roll_rad": deg(20)}, roll_shaft, roll_face, -1.0),
    ):  # fmt: skip
        then = state.with_wrist(fit, **kwargs)
        turned = math.degrees(math.acos(min(1.0, float(np.dot(state.shaft(fit), then.shaft(fit))))))
        assert turned == pytest.approx(shaft_deg, abs=0.01)
        # Bowing shuts, pronating opens (G7).
        assert math.degrees(what_if(state, fit, None, **kwargs).face_turn_rad) == pytest.approx(
            sense * face_deg, abs=0.01
        )


@pytest.mark.parametrize("side", SIDES)
def test_toe_up_is_zero_and_a_shut_face_reads_positive(side):
    fit = plain_fit(side)
    trail = 1.0 if side is Side.LEFT else -1.0
    at_address = ClubState((1.0, 0.0, 0.0, 0.0), quat(Rotation.from_euler("x", 55, degrees=True)))
    toe_world = np.array([0.0, 1.0, 0.0]) - at_address.shaft(fit)[1] * np.array(at_address.shaft(fit))
    # Level, pointing to the trail side, toe straight up; then the toe leans away from the player, face to the ground: shut.
    start = np.stack([at_address.shaft(fit), toe_world / np.linalg.norm(toe_world)])
    level, _ = Rotation.align_vectors(np.array([[trail, 0.0, 0.0], [0.0, 0.0, 1.0]]), start)
    shut = Rotation.from_rotvec([-trail * deg(25) * trail, 0.0, 0.0])
    for turn, expected in ((Rotation.identity(), 0.0), (shut, 25.0), (shut.inv(), -25.0)):
        club = turn * level * Rotation.from_quat(at_address.q_earth_from_club, scalar_first=True)
        assert math.degrees(toe(ClubState((1.0, 0.0, 0.0, 0.0), quat(club)), at_address, fit)) == pytest.approx(
            expected, abs=1e-6
        )


def test_the_butt_line_of_a_shaft_that_stays_at_address_height():
    # Lie and length of a 5-iron in common tables (38 in at 60 deg: butt 32.91 in high, 19.00 in from the head; check value P6,
    # arithmetic): carried on, the line meets the ground at the ball, so it is no butt line; turned head up it is.
    inch = 0.0254
    lie = deg(60.0)
    shaft = (0.0, math.cos(lie), -math.sin(lie))
    butt = ButtLine.at_address(shaft, (0.0, 0.3, -math.sqrt(1 - 0.09)), club_length_m=38 * inch, arm_length_m=0.6)
    assert butt.of(shaft, (0.0, 0.3, -0.95)) is None
    hands = tuple(h + 0.6 * a for h, a in zip(butt.hub_m, (0.0, 0.3, -math.sqrt(1 - 0.09)), strict=True))
    assert hands[2] == pytest.approx((32.91 * inch) * (38 * inch - 0.08) / (38 * inch), abs=1e-3)
    assert -hands[1] == pytest.approx((19.00 * inch) * (38 * inch - 0.08) / (38 * inch), abs=1e-3)
    upright = butt.of((0.0, 0.0, 1.0), (0.0, 0.3, -math.sqrt(1 - 0.09)))
    assert upright == pytest.approx(-hands[1])
