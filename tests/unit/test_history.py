"""The memory of a sensor's last seconds, against a plain list of all samples ever pushed."""

import numpy as np
import pytest

from fusion.orientation.history import History

KEPT_S, HOLE_S = 2.0, 0.03


class Plain:
    """The same by its definition: whole blocks in a list, samples picked one by one."""

    def __init__(self):
        self.blocks = []

    def push(self, t_s):
        self.blocks.append(t_s)
        self.blocks = [block for block in self.blocks if t_s[-1] - block[-1] <= KEPT_S]

    def between(self, start_s, end_s):
        times = [t for block in self.blocks for t in block.tolist() if t <= end_s]
        holes = [i for i in range(1, len(times)) if times[i] - times[i - 1] > HOLE_S]
        return [t for t in times[holes[-1] if holes else 0 :] if t >= start_s]


def columns(t_s):
    """Values from which their sample can be told."""
    vectors = np.outer(t_s, [1.0, 2.0, 3.0])
    return vectors, -vectors, [(t, 0.0, 0.0, 1.0) for t in t_s.tolist()]


@pytest.mark.parametrize("rate_hz", [200.0, 2000.0], ids=["usual", "more than there is room for at first"])
def test_what_lies_between_is_what_a_list_of_all_samples_gives(rate_hz):
    rng = np.random.default_rng(8)
    history, plain = History(KEPT_S, HOLE_S), Plain()
    now_s, found = 0.0, 0
    for _ in range(600):
        n = int(rng.integers(1, 20))
        now_s += HOLE_S * 3 if rng.random() < 0.02 else 0.0
        t_s = now_s + np.arange(1, n + 1) / rate_hz
        now_s = float(t_s[-1])
        history.push(t_s, *columns(t_s))
        plain.push(t_s)
        end_s = now_s - rng.uniform(0.0, 0.2)
        start_s = end_s - rng.uniform(0.0, 2.5)
        expected, stretch = plain.between(start_s, end_s), history.between(start_s, end_s)
        assert (stretch is None) == (not expected)
        if stretch is not None:
            found += 1
            assert stretch.t_s.tolist() == expected
            rates, forces, quats = columns(stretch.t_s)
            assert np.array_equal(stretch.gyr_rad_s, rates)
            assert np.array_equal(stretch.acc_m_s2, forces)
            assert np.array_equal(stretch.q_free_from_sensor, quats)
    assert found > 400


def test_nothing_is_left_of_what_was_forgotten():
    history = History(KEPT_S, HOLE_S)
    t_s = np.arange(10) / 200.0
    history.push(t_s, *columns(t_s))
    history.clear()
    assert history.between(0.0, 1.0) is None
    later = t_s + 0.5
    history.push(later, *columns(later))
    assert history.between(0.0, 1.0).t_s.tolist() == later.tolist()
