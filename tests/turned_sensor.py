"""A sensor with invented faults, turned from hold to hold: made with numpy and scipy alone, nothing from the project."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial.transform import Rotation, Slerp

RATE_HZ = 200.0
G_M_S2 = 9.80665
_FINE = 2
"""Orientation is known so many times a sample; rates come from its differences."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensor:
    """raw = T true + offset; T = I + scale on the diagonal, cross-axis beside it."""

    gyr_matrix: np.ndarray
    gyr_offset_rad_s: np.ndarray
    acc_matrix: np.ndarray
    acc_offset_m_s2: np.ndarray
    gyr_noise_rad_s: float = np.radians(0.1)
    acc_noise_m_s2: float = 0.03
    gyr_wander_rad_s: float = np.radians(0.007)
    acc_wander_m_s2: float = 0.003
    """Slow wandering of the offsets, root mean square: what no averaging removes. Order of consumer parts, from memory."""

    @staticmethod
    def draw(rng):
        def matrix(scale, cross):
            T = rng.normal(0.0, cross, (3, 3))
            T[np.diag_indices(3)] = rng.normal(0.0, scale, 3)
            return np.eye(3) + T

        return Sensor(
            gyr_matrix=matrix(0.01, 0.003), gyr_offset_rad_s=np.radians(rng.normal(0.0, 1.0, 3)),
            acc_matrix=matrix(0.005, 0.003), acc_offset_m_s2=rng.normal(0.0, 0.03 * G_M_S2, 3),
        )  # fmt: skip

    def errors(self, trim):
        """Error of the trimmed rate as a matrix, of the trimmed force likewise, and of the accelerometer's offset.

        `trim` may choose the common frame: that rotation (polar decomposition of its acc_matrix times the truth) is taken out.
        """
        acc = np.array(trim.acc_matrix) @ self.acc_matrix
        U, _, Vt = np.linalg.svd(acc)
        Q = U @ Vt
        return (
            np.array(trim.gyr_matrix) @ self.gyr_matrix @ Q.T - np.eye(3),
            acc @ Q.T - np.eye(3),
            np.array(trim.acc_offset_m_s2) - self.acc_offset_m_s2,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """Raw samples from beginning to end; `windows` are (first, last) sample of each hold with some motion at its edges."""

    t_s: np.ndarray
    gyr: np.ndarray
    acc: np.ndarray
    still: tuple[int, int]
    windows: list[tuple[int, int]]

    def feed(self, collector, packet=10):
        """Give it to a collector as a pipeline would; gives what the windows answered."""
        first, last = self.still
        answers = [collector.add_still(self.gyr[first:last], self.acc[first:last], self.t_s[first])]
        at = last
        for first, last in self.windows:
            for i in range(at, first, packet):
                j = min(i + packet, first)
                collector.bridge(self.t_s[i:j], self.gyr[i:j])
            answers.append(collector.add_hold(self.t_s[first:last], self.gyr[first:last], self.acc[first:last]))
            at = last
        return answers


FACES = np.array([[0, 0, 1], [1, 0, 0], [0, 0, -1], [-1, 0, 0], [0, 1, 0], [0, -1, 0]], float)
EDGES = np.array([[1, 1, 0], [-1, 0, 1], [0, -1, -1], [1, -1, 0], [0, 1, -1], [-1, -1, 0]], float) / np.sqrt(2)


def table_ups(rng, n):
    """Six faces and then edges of a box, each a few degrees off."""
    ups = np.vstack([FACES, EDGES])[:n] + rng.normal(0, 0.05, (n, 3))
    return ups / np.linalg.norm(ups, axis=1)[:, None]


def hand_ups(rng, n):
    """Random attitudes, none near another, as someone makes who was asked for different ones."""
    ups = [np.array([0.0, 0.0, 1.0])]
    while len(ups) < n:
        up = rng.normal(size=3)
        up /= np.linalg.norm(up)
        if max(up @ other for other in ups) < np.cos(np.radians(45)):
            ups.append(up)
    return np.array(ups)


def attitude(rng, up):
    """Some orientation sensor -> earth in which `up` is up, with any heading."""
    level, _ = Rotation.align_vectors([[0, 0, 1]], [up])
    return Rotation.from_rotvec([0, 0, rng.uniform(-np.pi, np.pi)]) * level


def session(rng, sensor, ups, *, in_hand, hold_s=(1.0, 3.0), edge_s=0.25, spoil=None):
    """Lie still for three seconds, then hold each attitude; `in_hand` trembles. `spoil` shakes hold number so and so."""
    dt = 1 / RATE_HZ / _FINE
    legs, marks, t = [], [], 3.0
    q = attitude(rng, ups[0])
    keys_t, keys_q = [0.0, t], [q, q]
    for i, up in enumerate(ups):
        move_s, keep_s = rng.uniform(0.9, 1.8), rng.uniform(*hold_s)
        target = attitude(rng, up)
        legs.append((t, t + move_s))
        keys_t += [t + move_s, t + move_s + keep_s]
        keys_q += [target, target]
        marks.append((t + move_s - edge_s, t + move_s + keep_s + edge_s, i))
        t += move_s + keep_s
    fine_t = np.arange(0, t, dt)
    warped = fine_t.copy()
    for a, b in legs:  # minimum jerk instead of a constant rate
        inside = (fine_t >= a) & (fine_t < b)
        s = (fine_t[inside] - a) / (b - a)
        warped[inside] = a + (b - a) * s**3 * (10 - 15 * s + 6 * s * s)
    R = Slerp(keys_t, Rotation.concatenate(keys_q))(warped)
    moving = np.zeros_like(fine_t)
    for a, b in legs:
        moving[(fine_t >= a - 0.1) & (fine_t < b + 0.1)] = 1
    accel = moving[:, None] * 1.5 * sway(rng, fine_t, 0.8, 3.0)  # carried about
    if in_hand:
        hand = (fine_t > legs[0][0])[:, None]
        R = R * Rotation.from_rotvec(hand * np.radians(0.15) * sway(rng, fine_t, 0.3, 9.0))
        accel = accel + hand * 0.10 * sway(rng, fine_t, 0.5, 9.0)
    if spoil is not None:
        a, b, _ = marks[spoil]
        inside = (fine_t > a) & (fine_t < b)
        accel[inside] += np.array([0.6, -0.5, 0.4])  # a lift, not a tremor: no scatter gives it away
    rate = (R[:-1].inv() * R[1:]).as_rotvec() / dt
    rate = (rate[:-1] + rate[1:]) / 2  # at the inner instants
    at = slice(_FINE, len(fine_t) - _FINE, _FINE)
    force = R.inv().apply(accel + np.array([0, 0, G_M_S2]))[at]
    gyr = rate[at.start - 1 : at.stop - 1 : _FINE]
    n = len(force)
    slow = [sway(rng, fine_t[at], 0.01, 0.3) for _ in range(2)]
    gyr = gyr @ sensor.gyr_matrix.T + sensor.gyr_offset_rad_s + sensor.gyr_wander_rad_s * slow[0]
    gyr = gyr + rng.normal(0, sensor.gyr_noise_rad_s, (n, 3))
    acc = force @ sensor.acc_matrix.T + sensor.acc_offset_m_s2 + sensor.acc_wander_m_s2 * slow[1]
    acc = acc + rng.normal(0, sensor.acc_noise_m_s2, (n, 3))
    index = lambda when: int(np.clip((when - fine_t[at.start]) * RATE_HZ, 0, n))  # noqa: E731
    return Session(
        t_s=fine_t[at] + 100.0,
        gyr=gyr,
        acc=acc,
        still=(0, index(2.9)),
        windows=[(index(a), index(b)) for a, b, _ in marks],
    )


def sway(rng, t, low_hz, high_hz, n=8):
    """Unit-variance smooth wandering on three axes, a sum of sines."""
    f = np.exp(rng.uniform(np.log(low_hz), np.log(high_hz), (3, n)))
    phase = rng.uniform(0, 2 * np.pi, (3, n))
    return np.sqrt(2 / n) * np.sin(2 * np.pi * f[:, :, None] * t + phase[:, :, None]).sum(axis=1).T
