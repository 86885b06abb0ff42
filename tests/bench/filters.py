"""Orientation filters of other people over one sensor's samples, as kindly as can be.

They take one fixed rate and know of no holes. So that their algorithm is compared and not that, each is given the sensor's own
mean rate instead of the nominal one, and holes filled by straight lines.
"""

from __future__ import annotations

from collections.abc import Callable

import ahrs
import numpy as np
from vqf import VQF

from tests.bench.half_hour import Stream
from tests.orientations import level_q

Filter = Callable[[float, np.ndarray, np.ndarray], np.ndarray]
"""Rate in Hz, rates, forces -> orientations in an earth of its own with z up, shape (n, 4), w x y z."""
CONJUGATE = np.array([1.0, -1.0, -1.0, -1.0])


def filled(stream: Stream) -> tuple[float, Stream]:
    """Mean rate, and the samples with every hole filled by straight lines."""
    spacing_s = float(np.median(np.diff(stream.device_s)))
    place = np.concatenate([[0], np.cumsum(np.rint(np.diff(stream.device_s) / spacing_s))])
    every = np.arange(int(place[-1]) + 1)
    rate_hz = place[-1] / (stream.device_s[-1] - stream.device_s[0])

    def fill(values: np.ndarray) -> np.ndarray:
        columns = values.reshape(len(values), -1).T
        return np.stack([np.interp(every, place, column) for column in columns], axis=1)

    return float(rate_hz), Stream(
        t_s=fill(stream.t_s)[:, 0],
        device_s=fill(stream.device_s)[:, 0],
        gyr_rad_s=fill(stream.gyr_rad_s),
        acc_m_s2=fill(stream.acc_m_s2),
    )


def vqf(rate_hz: float, gyr: np.ndarray, acc: np.ndarray, **options: bool) -> np.ndarray:
    return VQF(1 / rate_hz, **options).updateBatch(np.ascontiguousarray(gyr), np.ascontiguousarray(acc))["quat6D"]


def _start(acc: np.ndarray) -> np.ndarray:
    return np.array(level_q(acc[:200]))


def madgwick(gain: float) -> Filter:
    return lambda rate_hz, gyr, acc: (
        ahrs.filters.Madgwick(gyr=gyr, acc=acc, q0=_start(acc), frequency=rate_hz, gain_imu=gain).Q
    )


def mahony(rate_hz: float, gyr: np.ndarray, acc: np.ndarray) -> np.ndarray:
    return ahrs.filters.Mahony(gyr=gyr, acc=acc, q0=_start(acc), frequency=rate_hz, k_P=0.74, k_I=0.0012).Q


def ekf(rate_hz: float, gyr: np.ndarray, acc: np.ndarray) -> np.ndarray:
    """Of its two frames only the one it calls NED has z along the force at rest, which is up."""
    return ahrs.filters.EKF(gyr=gyr, acc=acc, q0=_start(acc), frequency=rate_hz, frame="NED").Q


def aqua(rate_hz: float, gyr: np.ndarray, acc: np.ndarray) -> np.ndarray:
    """It keeps the inverse rotation; without its adaptive gain a swing throws it over."""
    start = _start(acc) * CONJUGATE
    return ahrs.filters.AQUA(gyr=gyr, acc=acc, q0=start, frequency=rate_hz, adaptive=True).Q * CONJUGATE


FILTERS: dict[str, Filter] = {
    "VQF, motion bias off": lambda r, g, a: vqf(r, g, a, motionBiasEstEnabled=False),
    "VQF, defaults": vqf,
    "Madgwick, gain 0.033 (its default)": madgwick(0.033),
    "Madgwick, gain 0.12 (best on BROAD)": madgwick(0.12),
    "Mahony, 0.74 and 0.0012 (best on BROAD)": mahony,
    "EKF of ahrs": ekf,
    "AQUA of ahrs, adaptive": aqua,
}
