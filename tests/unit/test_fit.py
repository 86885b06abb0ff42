import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from fusion.calibration.fit import FitRejected, PoseGravity, fit_body
from fusion.outputs import FitReason
from fusion.rotation import rotate
from sensors.ids import Side

STRAIGHT = Rotation.identity()
UP = np.array([0.0, 0.0, 1.0])
# Earth from forearm (columns X volar, Y proximal, Z right of body) with the arm hanging, and held out level ahead, thumb up.
DOWN = Rotation.from_matrix([[1, 0, 0], [0, 0, -1], [0, 1, 0]])
LEVEL = {
    Side.LEFT: Rotation.from_matrix([[1, 0, 0], [0, -1, 0], [0, 0, -1]]),
    Side.RIGHT: Rotation.from_matrix([[-1, 0, 0], [0, -1, 0], [0, 0, 1]]),
}


def gravity(pose, forearm_mount, hand_mount, wrist=STRAIGHT):
    """Up in both sensors; the mounts take sensor axes to forearm and hand axes."""
    forearm = (pose * forearm_mount).inv().apply(UP)
    club = (pose * wrist * hand_mount).inv().apply(UP)
    return PoseGravity(forearm=tuple(forearm), club=tuple(club))


@pytest.mark.parametrize("side", Side)
@pytest.mark.parametrize("seed", range(5))
def test_any_mount_is_found_from_gravity_alone(side, seed):
    rng = np.random.default_rng(seed)
    forearm_mount, hand_mount = Rotation.random(rng=rng), Rotation.random(rng=rng)
    shaft_hand = (0.0, -math.cos(0.7), -math.sin(0.7))
    shaft_sensor = hand_mount.inv().apply(shaft_hand)
    fit = fit_body(
        arm_down=gravity(DOWN, forearm_mount, hand_mount),
        arm_level=gravity(LEVEL[side], forearm_mount, hand_mount),
        club_hang=tuple(-shaft_sensor),
        side=side,
    )
    assert rotate(fit.q_sensor_from_forearm, (0.3, -0.5, 0.8)) == pytest.approx(
        tuple(forearm_mount.inv().apply([0.3, -0.5, 0.8])), abs=1e-9
    )
    assert rotate(fit.q_sensor_from_hand, (0.3, -0.5, 0.8)) == pytest.approx(
        tuple(hand_mount.inv().apply([0.3, -0.5, 0.8])), abs=1e-9
    )
    assert fit.shaft_sensor == pytest.approx(tuple(shaft_sensor), abs=1e-12)
    assert fit.square_error_rad == pytest.approx(0.0, abs=1e-7)


def rejected(**poses):
    with pytest.raises(FitRejected) as caught:
        fit_body(club_hang=(0.0, 1.0, 0.0), side=Side.LEFT, **poses)
    return caught.value


def test_the_same_pose_twice_is_named():
    one = Rotation.identity()
    down = gravity(DOWN, one, one)
    error = rejected(arm_down=down, arm_level=gravity(Rotation.from_euler("x", 20, degrees=True) * DOWN, one, one))
    assert error.reason is FitReason.POSES_ALIKE
    assert math.degrees(error.measured_rad) == pytest.approx(70.0)


def test_an_arm_overhead_is_not_level():
    one = Rotation.identity()
    error = rejected(
        arm_down=gravity(DOWN, one, one),
        arm_level=gravity(Rotation.from_euler("x", 135, degrees=True) * DOWN, one, one),
    )
    assert error.reason is FitReason.WRONG_POSE


def test_a_wrist_that_bent_between_the_poses_is_noticed():
    one = Rotation.identity()
    bent = Rotation.from_euler("x", 20, degrees=True)
    error = rejected(arm_down=gravity(DOWN, one, one), arm_level=gravity(LEVEL[Side.LEFT], one, one, bent))
    assert error.reason is FitReason.WRONG_POSE
    assert math.degrees(error.measured_rad) == pytest.approx(20.0, abs=0.5)
