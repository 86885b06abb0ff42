"""Our own orientation parts run over whole arrays, for comparison with truth and with other filters."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from scipy.spatial.transform import Rotation

from fusion.orientation.bias import TABLE_REST_RAD_S, BiasFilter
from fusion.orientation.idle import IdleTilt
from fusion.orientation.rest import Rest, rest_of
from fusion.orientation.strapdown import Strapdown
from fusion.orientation.window import Window
from fusion.rotation import Quat, shortest
from tests.broad import Trial

REST_S = 0.45
STILL_RAD_S = np.radians(1.0)


def level_q(acc_m_s2: np.ndarray) -> Quat:
    """Orientation with the mean specific force upright and any heading."""
    up = acc_m_s2.mean(axis=0)
    return shortest(tuple((up / np.linalg.norm(up)).tolist()), (0.0, 0.0, 1.0))


def idle_tilts(rate_hz: float, gyr_rad_s: np.ndarray, acc_m_s2: np.ndarray) -> np.ndarray:
    """`IdleTilt` sample by sample, shape (n, 4)."""
    idle = IdleTilt(rate_hz)
    out = np.empty((len(gyr_rad_s), 4))
    for i in range(len(gyr_rad_s)):
        idle.push(np.array([i / rate_hz]), gyr_rad_s[i : i + 1], acc_m_s2[i : i + 1])
        out[i] = idle.q_earth_from_sensor
    return out


def strapdown(times_s: np.ndarray, rates_rad_s: np.ndarray, start: Quat, usual_s: float) -> np.ndarray:
    """`Strapdown` sample by sample from a given start, shape (n, 4)."""
    body = Strapdown()
    body.q_free_from_sensor = start
    return np.array(
        [body.push(t, (x, y, z), usual_s) for t, (x, y, z) in zip(times_s.tolist(), rates_rad_s.tolist(), strict=True)]
    )


def rest_between(t_s: np.ndarray, gyr_rad_s: np.ndarray, acc_m_s2: np.ndarray, rows: slice) -> Rest:
    """Measure rows as one attitude: the sensor lies still, so its own axes serve as the free earth."""
    still = np.tile([1.0, 0.0, 0.0, 0.0], (rows.stop - rows.start, 1))
    return rest_of(
        Window(
            t_s=t_s[rows],
            device_s=t_s[rows],
            gyr_rad_s=gyr_rad_s[rows],
            acc_m_s2=acc_m_s2[rows],
            q_free_from_sensor=still,
            turn_rad=np.zeros((rows.stop - rows.start, 3)),
        )
    )


def strapdown_runs(trial: Trial, seconds: float) -> Iterator[tuple[Trial, int, np.ndarray]]:
    """From the last rest before each motion: trial, first sample, orientations; bias from the rests so far."""
    n = round(REST_S * trial.rate_hz)
    t_s = np.arange(len(trial.gyr_rad_s)) / trial.rate_hz
    bias = BiasFilter()
    for begins in np.flatnonzero(np.diff(trial.moving.astype(int)) == 1).tolist():
        for end in range(begins, max(begins - round(3 * trial.rate_hz), n), -round(0.1 * trial.rate_hz)):
            rest = rest_between(t_s, trial.gyr_rad_s, trial.acc_m_s2, slice(end - n, end))
            if rest.rate_spread_rad_s < STILL_RAD_S:
                break
        else:
            continue
        bias.rest(rest.end_s, rest.mean_rate_rad_s, TABLE_REST_RAD_S)
        rows = slice(end - 1, end - 1 + round(seconds * trial.rate_hz))
        rates = trial.gyr_rad_s[rows] - bias.bias_rad_s
        yield trial, end - 1, strapdown(t_s[rows], rates, shortest(rest.up_sensor, (0.0, 0.0, 1.0)), 1 / trial.rate_hz)


def quat_of(rotation: Rotation | np.ndarray) -> Quat:
    """Scalar first, from scipy or a matrix of shape (3, 3)."""
    turn = rotation if isinstance(rotation, Rotation) else Rotation.from_matrix(rotation)
    w, x, y, z = turn.as_quat(scalar_first=True).tolist()
    return (w, x, y, z)
