"""The open BROAD trials, when they lie in `shared/datasets/broad` beside the project: real sensors with optical truth.

Laidig D, Caruso M, Cereatti A, Seel T (2021) "BROAD - A Benchmark for Robust Inertial Orientation Estimation", Data 6(7):72,
doi 10.3390/data6070072, CC BY 4.0. Nothing of it is kept in this project.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from scipy.io import loadmat
from scipy.spatial.transform import Rotation

FOLDER = Path(__file__).resolve().parents[2] / "shared" / "datasets" / "broad"


@dataclass(frozen=True)
class Trial:
    """Arrays over n samples at one even rate. `scored`: the rig moves and its markers were seen."""

    name: str
    rate_hz: float
    gyr_rad_s: np.ndarray
    acc_m_s2: np.ndarray
    moving: np.ndarray
    q_true: np.ndarray
    seen: np.ndarray

    @property
    def scored(self) -> np.ndarray:
        return self.moving & self.seen

    def first(self, seconds: float) -> Trial:
        n = round(seconds * self.rate_hz)
        arrays = (self.gyr_rad_s, self.acc_m_s2, self.moving, self.q_true, self.seen)
        return Trial(self.name, self.rate_hz, *(array[:n] for array in arrays))


def trial_names(kind: str = "undisturbed") -> list[str]:
    """Names of the trials that are there; none without the data set."""
    return sorted(path.stem for path in FOLDER.glob(f"*_{kind}_*.mat"))


@cache
def trial(name: str) -> Trial:
    content = loadmat(FOLDER / f"{name}.mat", squeeze_me=True)
    q_true = np.asarray(content["opt_quat"], dtype=float)
    return Trial(
        name=name,
        rate_hz=float(content["sampling_rate"]),
        gyr_rad_s=np.ascontiguousarray(content["imu_gyr"], dtype=float),
        acc_m_s2=np.ascontiguousarray(content["imu_acc"], dtype=float),
        moving=np.asarray(content["movement"]) == 1,
        q_true=q_true,
        seen=np.isfinite(q_true).all(axis=1),
    )


def error_in_earth(q_estimate: np.ndarray, q_true: np.ndarray) -> np.ndarray:
    """Estimate times inverse truth, shape (n, 4), w x y z; NaN where the truth is."""
    seen = np.isfinite(q_true).all(axis=1)
    error = np.full(q_true.shape, np.nan)
    product = Rotation.from_quat(q_estimate[seen], scalar_first=True)
    product = product * Rotation.from_quat(q_true[seen], scalar_first=True).inv()
    error[seen] = product.as_quat(scalar_first=True)
    return error


def inclination_deg(q_estimate: np.ndarray, q_true: np.ndarray) -> np.ndarray:
    """The data set's own metric: 2 acos sqrt(w^2 + z^2) of the error in the earth frame, what no heading explains."""
    w, x, y, z = error_in_earth(q_estimate, q_true).T
    return np.degrees(2 * np.arctan2(np.hypot(x, y), np.hypot(w, z)))


def heading_deg(q_estimate: np.ndarray, q_true: np.ndarray) -> np.ndarray:
    """The data set's own metric with its sign, 2 atan(z / w), unwrapped; the sensor's heading has an arbitrary zero."""
    w, _, _, z = error_in_earth(q_estimate, q_true).T
    return np.degrees(2 * np.arctan(z / w))


def rms(values: np.ndarray) -> float:
    return float(np.sqrt(np.nanmean(values**2)))
