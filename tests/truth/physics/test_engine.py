"""The engine itself: its gyroscopes and accelerometers against numerical derivatives of its own poses."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

pytest.importorskip("mujoco")

import mujoco

from tests.truth.physics.chain import INDEX, JOINTS, SENSORS, build, slices
from tests.truth.physics.play import play
from tests.truth.physics.player import draw_player
from tests.truth.physics.timeline import Burst, Knots, Timeline

STEP_S = 1e-3
AT = slices()


def lively(seed, seconds=2.0, step_s=STEP_S):
    """Every joint moving at once."""
    rng = np.random.default_rng(seed)
    timeline = Timeline(len(JOINTS))
    for j in range(len(JOINTS)):
        timeline.add(j, Knots([0.1, 0.9, 1.7], [0.0, rng.normal(), rng.normal()], [0.0, rng.normal(), 0.0]))
        timeline.add(j, Burst(0.2, 1.8, 0.3, [(rng.normal() * 0.2, rng.uniform(0.5, 3.0), rng.uniform(0, 6))]))
    t_s = np.arange(0.0, seconds, step_s)
    return t_s, timeline(t_s)


@pytest.mark.parametrize("seed", [0, 1])
def test_motion_has_the_derivatives_it_says(seed):
    t_s, (q, qd, qdd) = lively(seed, step_s=1e-4)
    assert np.abs(np.gradient(q, t_s, axis=0)[2:-2] - qd[2:-2]).max() < 2e-3
    assert np.abs(np.gradient(qd, t_s, axis=0)[2:-2] - qdd[2:-2]).max() < 5e-2
    assert np.abs(qdd).max() > 5.0


@pytest.mark.parametrize("sensor", SENSORS)
@pytest.mark.parametrize("lead_left", [True, False])
def test_gyroscope_is_the_derivative_of_orientation(sensor, lead_left):
    model = build(draw_player(np.random.default_rng(3), lead_left=lead_left))
    _, motion = lively(5)
    read = play(model, *motion)
    pose = Rotation.from_quat(read[:, AT["framequat", sensor]], scalar_first=True)
    gyr = (pose[:-2].inv() * pose[2:]).as_rotvec() / (2.0 * STEP_S)
    seen = read[1:-1, AT["gyro", sensor]]
    assert np.abs(gyr - seen).max() < 2e-3 * np.abs(seen).max()
    assert np.abs(seen).max() > 2.0


@pytest.mark.parametrize("sensor", SENSORS)
@pytest.mark.parametrize("lead_left", [True, False])
def test_accelerometer_is_the_second_derivative_of_position_and_gravity(sensor, lead_left):
    model = build(draw_player(np.random.default_rng(4), lead_left=lead_left))
    _, motion = lively(6)
    read = play(model, *motion)
    place = read[:, AT["framepos", sensor]]
    acc = (place[2:] - 2.0 * place[1:-1] + place[:-2]) / STEP_S**2 + [0.0, 0.0, 9.81]
    pose = Rotation.from_quat(read[1:-1, AT["framequat", sensor]], scalar_first=True)
    seen = read[1:-1, AT["accelerometer", sensor]]
    assert np.abs(pose.inv().apply(acc) - seen).max() < 5e-3 * np.abs(seen).max()
    assert np.abs(seen).max() > 15.0


def test_engine_integrates_the_motion_back():
    """The forces that `mj_inverse` finds, put into forward dynamics step by step, carry the engine along the same path."""
    step_s = 1e-4
    model = build(draw_player(np.random.default_rng(8), lead_left=True), step_s=step_s)
    _, (q, qd, qdd) = lively(7, step_s=step_s)
    start, n = 4000, 1500
    data, planned = mujoco.MjData(model), mujoco.MjData(model)
    data.qpos[:], data.qvel[:] = q[start], qd[start]
    for i in range(start, start + n):
        planned.qpos[:], planned.qvel[:], planned.qacc[:] = q[i], qd[i], qdd[i]
        mujoco.mj_inverse(model, planned)
        data.qfrc_applied[:] = planned.qfrc_inverse
        mujoco.mj_step(model, data)
    went = np.abs(q[start + n] - q[start]).max()
    assert went > 0.5
    assert np.abs(data.qpos - q[start + n]).max() < 0.01 * went


def test_wrist_angles_come_back_from_the_orientations():
    """Joint values of the chain against scipy's intrinsic Z-X-Y of forearm to hand; left arm: X and Y negated."""
    for lead_left in (True, False):
        model = build(draw_player(np.random.default_rng(9), lead_left=lead_left))
        q = np.zeros((1, len(JOINTS)))
        q[0, [INDEX[j] for j in ("yaw", "turn", "flex", "pron", "bend", "dev", "axial")]] = np.radians(
            [40, 50, 60, 70, -31, 17, 4]
        )
        read = play(model, q, 0 * q, 0 * q)[0]
        forearm, hand = (Rotation.from_quat(read[AT["framequat", s]], scalar_first=True) for s in ("forearm", "hand"))
        z, x, y = (forearm.inv() * hand).as_euler("ZXY", degrees=True)
        sign = -1.0 if lead_left else 1.0
        assert np.allclose([z, sign * x, sign * y], [-31, 17, 4], atol=1e-9)
