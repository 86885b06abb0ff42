"""How late one sensor's stamps are against the other's, from a move that turns both as one body.

If arm, hand and club are one rigid body, the two gyroscopes read the same rate in different axes. The lag at which one fixed
rotation maps one rate best onto the other is the skew; at each lag the best rotation is Kabsch's, whose fit is the sum
of the singular values of the correlation of the two (Kabsch 1976, Acta Cryst A 32:922, from memory; the smallest counts
negative for a reflection).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.optimize import minimize_scalar

from fusion.orientation.window import Window

MAX_SKEW_S = 0.08
LEAST_RATE_RAD_S = 0.5
"""Slower moves than this (root mean square) do not show a lag of a millisecond."""
SKEW_SD_S = 0.4e-3
"""What such a move gives, one standard deviation; simulation."""
_RIGID = 0.25
"""Rates must agree within this share of their size."""


def skew_of(forearm: Window, club: Window) -> float | None:
    """Return the club's session stamps minus the forearm's for the same instant, seconds; None when the move does not show it."""
    start_s = max(forearm.t_s[0], club.t_s[0]) + MAX_SKEW_S
    end_s = min(forearm.t_s[-1], club.t_s[-1]) - MAX_SKEW_S
    inside = (forearm.t_s >= start_s) & (forearm.t_s <= end_s)
    t_s, rate = forearm.t_s[inside], forearm.gyr_rad_s[inside] - forearm.gyr_rad_s.mean(axis=0)
    if len(t_s) < 100 or float(np.sqrt((rate**2).sum(axis=1).mean())) < LEAST_RATE_RAD_S:
        return None
    other = CubicSpline(club.t_s, club.gyr_rad_s - club.gyr_rad_s.mean(axis=0))
    size = float((rate**2).sum())

    def misfit(lag_s: float) -> float:
        theirs = other(t_s + lag_s)
        return (size + float((theirs**2).sum()) - 2.0 * _overlap(rate, theirs)) / size

    coarse = np.linspace(-MAX_SKEW_S, MAX_SKEW_S, 33)
    start = coarse[int(np.argmin([misfit(lag) for lag in coarse]))]
    step = coarse[1] - coarse[0]
    best = minimize_scalar(misfit, bounds=(start - step, start + step), method="bounded", options={"xatol": 1e-5})
    return float(best.x) if best.fun < _RIGID**2 * 2 and abs(best.x) < MAX_SKEW_S else None


def _overlap(a: NDArray[np.float64], b: NDArray[np.float64]) -> float:
    correlation = a.T @ b
    sizes = np.linalg.svd(correlation, compute_uv=False)
    return float(sizes[0] + sizes[1] + np.sign(np.linalg.det(correlation)) * sizes[2])
