"""The simulated practice is what it claims to be: continuous, mirrored rightly, signed rightly, like published swings."""

from __future__ import annotations

import json
from itertools import pairwise

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

pytest.importorskip("mujoco")

from pyarrow import csv

from tests.truth.physics import errors, handling, practice, radio
from tests.truth.physics.chain import INDEX, JOINTS, build, slices
from tests.truth.physics.dataset import COLUMNS, STEP_S, script
from tests.truth.physics.play import play
from tests.truth.physics.player import draw_player
from tests.truth.physics.poses import Body
from tests.truth.physics.stage import Stage, Swing
from tests.truth.physics.truth import Poses, truth_of

AT = slices()


def truth(stage, until_s=None):
    t_s = np.arange(0.0, until_s or stage.now_s, STEP_S)
    read = play(build(stage.body.player, STEP_S), *stage.timeline(t_s))
    poses = Poses.of(t_s, read, STEP_S, None, 1)
    return read, poses, *truth_of(stage.body.player, poses, stage.swings)


def one_swing(seed, *, lead_left):
    """A player who only stands to the ball and swings."""
    rng = np.random.default_rng(seed)
    player = draw_player(rng, lead_left=lead_left)
    stage = Stage(Body(build(player), player), rng)
    stage.begin(handling.ready(stage))
    golfer = practice.draw_golfer(stage)
    practice.over_the_ball(stage, golfer, first=True)
    practice.swing(stage, golfer, bend_top_deg=-15.0, hit=True)
    stage.finish()
    return stage


def test_sensors_change_carriers_without_a_jump(short_practice):
    """Where a sensor goes from table to limb, from hand to ground and back, both carriers are in one place and at rest."""
    stage, _ = short_practice
    model = build(stage.body.player)
    n = 0
    for carriers in stage.carriers.values():
        for (_, old), (when_s, new) in pairwise(carriers):
            read = play(model, *stage.timeline(np.array([when_s, when_s + STEP_S])))[0]
            turn = [Rotation.from_quat(read[AT["framequat", site]], scalar_first=True) for site in (old, new)]
            assert np.degrees((turn[0].inv() * turn[1]).magnitude()) < 1e-4
            assert np.abs(read[AT["framepos", old]] - read[AT["framepos", new]]).max() < 1e-6
            for site in (old, new):
                assert np.abs(read[AT["gyro", site]]).max() < 1e-9
                assert np.linalg.norm(read[AT["accelerometer", site]]) == pytest.approx(9.81, abs=1e-9)
            n += 1
    assert n >= 4  # both put on; the club laid aside for the palm and taken again


def test_a_left_handed_player_is_the_mirror_image():
    """Same joint motion, both hands: the reported angles are equal, the world is reflected."""
    seen = []
    for lead_left in (True, False):
        stage = one_swing(5, lead_left=lead_left)
        read, _, series, dates = truth(stage)
        seen.append((read, series, dates))
    (read, series, dates), (read_m, series_m, dates_m) = seen
    for name, values in series.items():
        assert np.allclose(values, series_m[name], atol=1e-3, equal_nan=True), name
    assert dates[0]["top_s"] == pytest.approx(dates_m[0]["top_s"], abs=1e-4)
    head, head_m = read[:, AT["framepos", "head"]], read_m[:, AT["framepos", "head"]]
    assert np.allclose(head * [-1.0, 1.0, 1.0], head_m, atol=1e-6)
    assert np.ptp(head[:, 0]) > 1.0


def test_truth_repeats_the_joint_angles_that_were_put_in():
    stage = one_swing(6, lead_left=True)
    t_s = np.arange(0.0, stage.now_s, STEP_S)
    q, _, _ = stage.timeline(t_s)
    _, _, series, _ = truth(stage)
    assert np.allclose(series["bend_deg"], np.degrees(q[:, INDEX["bend"]]), atol=1e-9)
    assert np.allclose(series["hinge_deg"], np.degrees(q[:, INDEX["dev"]]), atol=1e-9)


@pytest.mark.parametrize("lead_left", [True, False])
@pytest.mark.parametrize(
    ("joint", "set_deg", "shut", "rolled"), [("spin", 0, None, 0), ("bend", -40, 1, 0), ("pron", 25, -1, 1)]
)
def test_signs_of_face_and_roll_from_where_the_face_looks(lead_left, joint, set_deg, shut, rolled):
    """A face that looks at the target and then to the player's side of the target line has shut; to the far side, opened.

    Nothing but directions in the world: no axis, no sense of rotation. Bowing with the wrist set shuts, pronating with the
    club in line opens (check values G2, G7); the target is to the left of a right-handed player who faces the ball.
    """
    rng = np.random.default_rng(2)
    player = draw_player(rng, lead_left=lead_left)
    stage = Stage(Body(build(player), player), rng)
    stage.begin(practice.draw_golfer(stage).base | ({"dev": np.radians(set_deg)} if joint == "bend" else {}))
    stage.swings.append(Swing(0.0, 0.5, 0.8, 0.9, 0.95, hit=True))
    stage.now_s = 0.5
    sense = 1.0
    stage.go({joint: stage.rest[joint] + np.radians(20.0 * sense)}, 0.4)
    stage.wait(0.1)
    read, poses, series, _ = truth(stage)
    target = np.array([-1.0 if lead_left else 1.0, 0.0, 0.0])
    club = Rotation.from_quat(poses.club, scalar_first=True)
    shaft = -club.as_matrix()[:, :, 1]
    face = target - (target @ shaft[0]) * shaft[0]  # square to the target, square to the shaft
    face /= np.linalg.norm(face)
    later = (club[-60] * club[0].inv()).apply(face)
    toward_player = float((later - face) @ [0.0, -1.0, 0.0])
    twist = series["face_twist_deg"][-60]
    assert np.sign(twist) == np.sign(toward_player)
    assert abs(twist) > 5.0
    if shut is not None:
        assert np.sign(twist) == shut
    if rolled:
        assert series["forearm_roll_deg"][-60] == pytest.approx(20.0, abs=0.5)
    assert len(read)


def test_pitch_sees_what_a_camera_behind_the_hands_sees(short_practice):
    """At address the pitch is the angle of the shaft to the ground."""
    _, folder = short_practice
    with np.load(folder / "truth.npz") as z:
        for when_s in z["swing_takeaway_s"]:
            i = np.searchsorted(z["host_time_s"], when_s - 0.05)
            assert z["shaft_pitch_deg"][i] == pytest.approx(-z["shaft_elevation_deg"][i], abs=0.2)


def test_swings_are_like_published_ones():
    """Median phase fractions and tempo inside the 5-95 % ranges of GolfDB (1400 swings, McNally et al. 2019): shaft level
    at 0.42-0.63 of the backswing, lead arm level at 0.59-0.79, tempo 2.56-5.29; peak club rate within two standard
    deviations of Zheng et al. 2008 (2413 +- 442 deg/s, professionals; slower is no fault here, impossible would be).
    """
    fractions, fastest = [], []
    for seed in range(8):
        stage = one_swing(seed, lead_left=bool(seed % 2))
        read, _, _, (d,) = truth(stage)
        back_s = d["top_s"] - stage.swings[0].start_s
        fractions.append([(d["shaft_level_s"] - stage.swings[0].start_s) / back_s,
                          (d["lead_arm_level_s"] - stage.swings[0].start_s) / back_s,
                          back_s / (d["struck_s"] - d["top_s"])])  # fmt: skip
        fastest.append(np.degrees(np.linalg.norm(read[:, AT["gyro", "club_sensor"]], axis=1).max()))
        assert abs(d["impact_s"] - d["struck_s"]) < 0.008
    level, arm, tempo = np.median(fractions, axis=0)
    assert 0.42 < level < 0.63
    assert 0.59 < arm < 0.79
    assert 2.56 < tempo < 5.29
    assert 1000.0 < np.median(fastest) < 3300.0


def test_files_are_what_the_command_takes(short_practice):
    stage, folder = short_practice
    marks = json.loads((folder / "M.json").read_text())
    assert marks["lead_side"] == "left"
    names = [m["name"] for m in marks["moves"]]
    assert names == [
        "still",
        *["attitude"] * 8,
        "neutral",
        "bend",
        "hinge",
        "roll",
        "twirl",
        "locked",
        "palm",
        "address",
    ]
    for file in ("F.csv", "C.csv"):
        table = csv.read_csv(folder / file)
        assert tuple(table.column_names) == COLUMNS
        data = np.column_stack([table[name].to_numpy() for name in COLUMNS])
        assert np.isfinite(data).all()
        device_s, arrival_s = data[:, 0], data[:, 1]
        assert (np.diff(device_s) > 0).all()
        assert (np.diff(arrival_s) >= 0).all()
        assert len(data) % radio.PACKET == 0
        assert 0.98 < len(data) / (stage.now_s * 200.0) < 1.02
        assert arrival_s[0] < marks["moves"][0]["start_s"] < marks["moves"][-1]["end_s"] < arrival_s[-1]
        assert np.abs(np.degrees(data[:, 2:5])).max() <= 2000.0
        assert np.abs(data[:, 5:]).max() <= 16.0 * 9.81


def test_low_pass_holds_back_by_the_stated_delay():
    """A ramp comes out of a filter late by its group delay at zero frequency."""
    part = errors.draw_accelerometer(np.random.default_rng(0), 1000.0).perfect()
    ramp = np.arange(2000.0)[:, None] * 1e-3 * [1.0, 2.0, -3.0]
    out = part(ramp, 1e-3, np.random.default_rng(0))
    late_s = (ramp - out)[1000] / [1.0, 2.0, -3.0]
    assert late_s == pytest.approx(errors.DELAY_S, rel=0.1)


def test_parts_carry_on_between_chunks_and_stop_at_their_range():
    signal = np.random.default_rng(3).normal(0.0, 30.0, (400, 3))
    whole = errors.draw_gyroscope(np.random.default_rng(1), 1000.0).perfect()
    parts = errors.draw_gyroscope(np.random.default_rng(1), 1000.0).perfect()
    rng = np.random.default_rng(0)
    once = whole(signal, 1e-3, rng)
    twice = np.vstack([parts(signal[:150], 1e-3, rng), parts(signal[150:], 1e-3, rng)])
    assert np.allclose(once, twice, atol=1e-12)
    assert np.abs(whole.digits(np.full((1, 3), 99.0))).max() <= np.radians(2000.0)
    assert np.abs(once).max() < np.abs(signal).max()


def test_arrivals_come_in_bursts_late_and_with_losses():
    rng = np.random.default_rng(4)
    link = radio.draw_link(rng)
    t_s = radio.sample_times(link, 1800.0)
    arrived, kept = radio.arrivals(link, t_s, rng)
    last = slice(radio.PACKET - 1, None, radio.PACKET)
    wait_s = (arrived - t_s)[last]
    assert wait_s.min() >= link.least_s
    assert wait_s.min() < link.least_s + 0.003  # the lower envelope is there to be found
    assert np.median(wait_s) < link.event_s + 0.01
    assert 0.001 * 0.3 < 1.0 - kept.mean() < 0.005 * 2.0
    drift = np.polyfit(t_s, radio.device_times(link, t_s) - t_s, 1)[0]
    assert drift == pytest.approx(1e-6 * link.clock_ppm, abs=1e-8)


def test_the_same_seed_gives_the_same_motion():
    a, b = (script(3, 2.5, 2, lead_left=False) for _ in range(2))
    t_s = np.linspace(0.0, a.now_s, 500)
    assert np.array_equal(a.timeline(t_s)[0], b.timeline(t_s)[0])
    assert a.timeline(t_s)[0].shape == (500, len(JOINTS))
