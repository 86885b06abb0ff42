"""How late one sensor's stamps are against the other's, and how surely, from a move that turns both as one body.

If arm, hand and club are one rigid body, the two gyroscopes read the same rate in different axes. The lag at which one fixed
rotation maps one rate best onto the other is the skew; at each lag the best rotation is Kabsch's, whose fit is the sum
of the singular values of the correlation of the two (Kabsch 1976, Acta Cryst A 32:922, from memory; the smallest counts
negative for a reflection).

A held wrist gives a little, and what it gives looks like a lag where it goes with the change of the rate. How much that can be
is told by the move's own stretches, left out in turn (the jackknife: Efron and Stein 1981, Ann. Stat. 9:586, from memory). A lag
shows as a share of the change of the rate; a hand or a skin that follows by a share of the way as a share of the rate itself,
and the two are told apart.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.optimize import minimize_scalar

from fusion.orientation.window import INSTANT_S, Array, Window

MAX_SKEW_S = 0.08
LEAST_RATE_RAD_S = 0.5
"""Slower moves than this (root mean square) do not show a lag of a millisecond."""
LEAST_SD_S = 0.3e-3
"""No move is believed to show it better than this, one standard deviation; simulation."""
_STRETCHES = 6
_RIGID = 0.25
"""Rates must agree within this share of their size."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Skew:
    """What a move shows."""

    late_s: float
    """The club's session stamps minus the forearm's for the same instant."""
    sd_s: float
    """Its standard deviation."""


def skew_of(forearm: Window, club: Window) -> Skew | None:
    """Return how late the club's stamps are; None when the move does not show it."""
    start_s = max(forearm.t_s[0], club.t_s[0]) + MAX_SKEW_S
    end_s = min(forearm.t_s[-1], club.t_s[-1]) - MAX_SKEW_S
    inside = (forearm.t_s >= start_s - INSTANT_S) & (forearm.t_s <= end_s + INSTANT_S)
    t_s, rate = forearm.t_s[inside], _centred(forearm.gyr_rad_s[inside])
    if len(t_s) < 100 or float(np.sqrt((rate**2).sum(axis=1).mean())) < LEAST_RATE_RAD_S:
        return None
    other = CubicSpline(club.t_s, club.gyr_rad_s)
    size = float((rate**2).sum())

    def misfit(lag_s: float) -> float:
        theirs = _centred(other(t_s + lag_s))
        return (size + float((theirs**2).sum()) - 2.0 * _overlap(rate, theirs)) / size

    coarse = np.linspace(-MAX_SKEW_S, MAX_SKEW_S, 33)
    start = coarse[int(np.argmin([misfit(lag) for lag in coarse]))]
    step = coarse[1] - coarse[0]
    best = minimize_scalar(misfit, bounds=(start - step, start + step), method="bounded", options={"xatol": 1e-5})
    if best.fun >= _RIGID**2 * 2 or abs(best.x) >= MAX_SKEW_S:
        return None
    late_s = float(best.x)
    spread_s = _spread_s(rate, _centred(other(t_s + late_s)), other(t_s + late_s, 1))
    return Skew(late_s=late_s, sd_s=float(np.hypot(spread_s, LEAST_SD_S)))


def _spread_s(rate: Array, theirs: Array, change: Array) -> float:
    """Standard deviation of the lag by leaving out one stretch of the move after the other.

    `theirs` and `change`, rad/s and rad/s2, shape (n, 3), are the other sensor's rate at the lag found, and its derivative.
    """
    u, _, vt = np.linalg.svd(theirs.T @ rate)
    turn = u @ np.diag([1.0, 1.0, np.sign(np.linalg.det(u @ vt))]) @ vt
    seen = np.stack([change @ turn, theirs @ turn], axis=-1)
    left = rate - theirs @ turn
    stretches = np.array_split(np.arange(len(rate)), _STRETCHES)
    normal = np.array([np.einsum("nki,nkj->ij", seen[part], seen[part]) for part in stretches])
    right = np.array([np.einsum("nki,nk->i", seen[part], left[part]) for part in stretches])
    lags_s = np.linalg.solve(normal.sum(axis=0) - normal, (right.sum(axis=0) - right)[..., None])[:, 0, 0]
    return float(np.sqrt((_STRETCHES - 1) * lags_s.var()))


def _centred(rate: Array) -> Array:
    """What a gyroscope's offset cannot change. Shape (n, 3)."""
    return np.asarray(rate - rate.mean(axis=0))


def _overlap(a: Array, b: Array) -> float:
    correlation = a.T @ b
    sizes = np.linalg.svd(correlation, compute_uv=False)
    return float(sizes[0] + sizes[1] + np.sign(np.linalg.det(correlation)) * sizes[2])
