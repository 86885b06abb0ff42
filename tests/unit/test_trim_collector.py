import math

import numpy as np
import pytest

from fusion.calibration.trim import turn as turn_module
from fusion.calibration.trim.collector import MISFIT_LIMIT_PCT, MOST_HOLDS, TrimCollector
from fusion.outputs.fit import FitReason
from sensors.trim import Trim
from tests.turned_sensor import G_M_S2, RATE_HZ, Sensor, Session, hand_ups, session, table_ups


def made(seed=1, n=8, in_hand=False, **more):
    rng = np.random.default_rng(seed)
    sensor = Sensor.draw(rng)
    ups = hand_ups(rng, n) if in_hand else table_ups(rng, n)
    return sensor, session(rng, sensor, ups, in_hand=in_hand, **more)


def resting(seconds, rate_deg_s=(0.5, 0, 0), noise_deg_s=0.1, up=(0, 0, 1), g=G_M_S2):
    rng = np.random.default_rng(0)
    n = round(seconds * RATE_HZ)
    gyr = np.radians(rate_deg_s + rng.normal(0, noise_deg_s, (n, 3)))
    return gyr, g * np.array(up) + rng.normal(0, 0.03, (n, 3))


def test_every_faces_trim_makes_gravity_of_a_hold():
    sensor, practice = made()
    collector = TrimCollector()
    practice.feed(collector)
    result = collector.solve()
    assert result.complete
    assert result.figures.n_attitudes == 8
    assert result.figures.n_holds == 9
    assert result.figures.n_turns == 7
    for first, last in practice.windows:
        quiet = practice.acc[first + 80 : last - 80]
        assert np.linalg.norm(result.trim.acc(quiet).mean(axis=0)) == pytest.approx(G_M_S2, abs=0.02)
    assert result.trim.gyr_offset_rad_s == pytest.approx(sensor.gyr_offset_rad_s, abs=math.radians(0.05))


def test_five_attitudes_are_used_and_not_kept():
    sensor, practice = made(n=5)
    collector = TrimCollector()
    practice.feed(collector)
    result = collector.solve()
    assert not result.complete
    assert result.rejection.reason is FitReason.FEW_ATTITUDES
    assert (result.rejection.measured, result.rejection.limit) == (5, 6)
    _, _, offset = sensor.errors(result.trim)
    assert np.linalg.norm(offset) < np.linalg.norm(sensor.acc_offset_m_s2) / 2


def test_two_attitudes_leave_the_offset_of_still():
    sensor, practice = made(n=2)
    collector = TrimCollector()
    practice.feed(collector)
    result = collector.solve()
    assert result.rejection.reason is FitReason.FEW_ATTITUDES
    assert (result.rejection.measured, result.rejection.limit) == (2, 6)
    assert result.trim.gyr_offset_rad_s == pytest.approx(sensor.gyr_offset_rad_s, abs=math.radians(0.05))
    plain = Trim()
    assert (result.trim.gyr_matrix, result.trim.acc_matrix) == (plain.gyr_matrix, plain.acc_matrix)
    assert (result.trim.gyr_scale_sd, result.trim.acc_sd_m_s2) == (plain.gyr_scale_sd, plain.acc_sd_m_s2)


def test_the_same_attitude_again_is_no_new_one():
    collector = TrimCollector()
    for k in range(9):
        gyr, acc = resting(1.5, up=(0, 0, 1) if k % 2 else (0, 1, 0))
        t_s = 10.0 * k + np.arange(len(gyr)) / RATE_HZ
        assert collector.add_hold(t_s, gyr, acc) is None
    assert collector.n_attitudes == 2
    assert collector.solve().rejection.measured == 2


def test_nothing_at_all_is_no_trim():
    result = TrimCollector().solve()
    assert result.trim is None
    assert result.rejection.reason is FitReason.NO_DATA


@pytest.mark.parametrize(
    ("window", "reason"),
    [
        (resting(3.0, noise_deg_s=5.0), FitReason.MOVING),
        (resting(3.0, rate_deg_s=(15.0, 0, 0)), FitReason.MOVING),
        (resting(3.0, g=12.5), FitReason.NOT_GRAVITY),
        (resting(0.4), FitReason.NO_DATA),
        (resting(0.0), FitReason.NO_DATA),
    ],
    ids=["shaken", "turning", "not gravity", "too short", "empty"],
)
def test_a_still_that_is_no_use_says_why(window, reason):
    collector = TrimCollector()
    rejection = collector.add_still(*window, 0.0)
    assert rejection.reason is reason
    assert (rejection.measured > rejection.limit) is (reason is not FitReason.NO_DATA)
    assert collector.solve().trim is None


def test_a_hold_in_motion_is_refused_and_joins_no_turn_wrongly():
    """The refused window's samples still belong to the turn from the hold before it to the one after it."""
    _, practice = made(n=8)
    plain, shaken = TrimCollector(), TrimCollector()
    practice.feed(plain)
    gyr = practice.gyr.copy()
    first, last = practice.windows[3]
    rng = np.random.default_rng(5)
    gyr[first:last] += np.repeat(rng.normal(0, 1.0, ((last - first) // 20 + 1, 3)), 20, axis=0)[: last - first]
    answers = Session(
        t_s=practice.t_s, gyr=gyr, acc=practice.acc, still=practice.still, windows=practice.windows
    ).feed(shaken)  # fmt: skip
    assert [answer is not None for answer in answers].index(True) == 4
    assert answers[4].reason is FitReason.MOVING
    assert len(shaken._joints) == len(plain._joints) - 1
    assert shaken._joints[2].turn.length_s == pytest.approx(
        plain._joints[2].turn.length_s + plain._joints[3].turn.length_s
    )


def test_packets_need_not_stop_at_windows():
    """All samples through `bridge`, windows afterwards, gives what samples between windows give."""
    _, practice = made(in_hand=True)
    apart, through = TrimCollector(), TrimCollector()
    practice.feed(apart)
    t, gyr, acc = practice.t_s, practice.gyr, practice.acc
    through.add_still(gyr[: practice.still[1]], acc[: practice.still[1]], t[0])
    at = 0
    for first, last in practice.windows:
        upto = min(last + 13, len(t))
        through.bridge(t[at:upto], gyr[at:upto])
        through.add_hold(t[first:last], gyr[first:last], acc[first:last])
        at = upto
    assert through.solve() == apart.solve()


@pytest.mark.parametrize("missing", [30, 2000])
def test_lost_samples_drop_the_turn_and_keep_the_holds(missing):
    _, practice = made()
    collector = TrimCollector()
    keep = np.ones(len(practice.t_s), bool)
    first = practice.windows[4][0] - 40
    t_s = practice.t_s.copy()
    if missing > 1000:
        t_s[first:] += missing / RATE_HZ  # a sensor that slept
    else:
        keep[first - missing : first] = False
    index = np.concatenate([[0], np.cumsum(keep)])
    Session(
        t_s=t_s[keep], gyr=practice.gyr[keep], acc=practice.acc[keep], still=practice.still,
        windows=[(index[a], index[b]) for a, b in practice.windows],
    ).feed(collector)  # fmt: skip
    figures = collector.solve().figures
    assert (figures.n_holds, figures.n_turns) == (9, 6)


def test_a_sensor_that_starts_anew_drops_one_turn():
    _, practice = made()
    t_s = practice.t_s.copy()
    first = practice.windows[4][0] - 40
    t_s[first:] -= t_s[first] - 0.01
    collector = TrimCollector()
    Session(t_s=t_s, gyr=practice.gyr, acc=practice.acc, still=practice.still, windows=practice.windows).feed(collector)
    result = collector.solve()
    assert result.complete
    assert result.figures.n_turns == 6


def test_a_spoilt_hold_is_left_out():
    sensor, practice = made(n=12, spoil=6)
    collector = TrimCollector()
    practice.feed(collector)
    result = collector.solve()
    assert result.complete
    assert result.figures.n_dropped == 1
    assert result.figures.n_turns == 10
    gyr, _, offset = sensor.errors(result.trim)
    assert np.abs(offset).max() < 0.02
    assert np.abs(np.diag(gyr)).max() < 0.002


def test_holds_that_contradict_each_other_are_refused():
    """A gyroscope with twenty percent less scale on one axis is broken: no prior believes it."""
    _, practice = made(n=12)
    gyr = practice.gyr * [1.0, 0.8, 1.0]
    collector = TrimCollector()
    Session(
        t_s=practice.t_s, gyr=gyr, acc=practice.acc + np.sin(practice.t_s)[:, None], still=practice.still,
        windows=practice.windows,
    ).feed(collector)  # fmt: skip
    result = collector.solve()
    assert result.rejection.reason is FitReason.POOR_TRIM
    assert result.rejection.measured > result.rejection.limit == MISFIT_LIMIT_PCT
    assert result.trim is not None  # the offset of still


def test_memory_is_bounded():
    """An hour without a hold keeps seconds; a hundred holds keep the newest."""
    _, practice = made()
    collector = TrimCollector()
    practice.feed(collector)
    gyr, acc = resting(1.5)
    for k in range(60 * 60):
        t_s = practice.t_s[-1] + k + np.arange(200) / RATE_HZ
        collector.bridge(t_s, np.zeros((200, 3)))
        kept_s = sum(len(times) for times in collector._between._times) / RATE_HZ
        assert kept_s <= turn_module.LONGEST_S + turn_module.SPARE_S + 1
        assert k < 70 or kept_s <= turn_module.SPARE_S + 2
    for k in range(100):
        collector.add_hold(10_000.0 + 3 * k + np.arange(len(gyr)) / RATE_HZ, gyr, acc)
    assert len(collector._holds) == MOST_HOLDS
    assert all(joint.last >= 0 and joint.next < MOST_HOLDS for joint in collector._joints)
