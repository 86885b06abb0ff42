"""When something happened, from samples on both sides of it: crossings, turning points, onsets.

All fits are local least-squares polynomials about the instant in question, so they delay nothing (zero phase); with fewer
samples after it they are the live dates, with all of them the record's. Arrays of shape (n,), times in seconds.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

HALF_WINDOW_S: Final = 0.016
"""Fits reach this far to either side: three samples at 200 Hz."""
_ONSET_FROM, _ONSET_TO = math.radians(1.5), math.radians(10.0)
_TREMBLING_RAD_S: Final = math.radians(3.0)
_SOON_S: Final = 0.12
_WIDTHS_S: Final = (0.08, 0.06, 0.04)
_FITS_RAD: Final = math.radians(0.05)
_CREEPING_RAD_S: Final = math.radians(6.0)
_LONGEST_CREEP_S: Final = 0.1


def near(t_s: Array, at_s: float, half_s: float = HALF_WINDOW_S, at_least: int = 5) -> slice:
    """Indices of the samples within `half_s` of an instant, or of the `at_least` nearest where these are sparse."""
    first, last = (int(i) for i in np.searchsorted(t_s, [at_s - half_s, at_s + half_s]))
    while last - first < min(at_least, len(t_s)):
        before = at_s - t_s[first - 1] if first > 0 else np.inf
        after = t_s[last] - at_s if last < len(t_s) else np.inf
        first, last = (first - 1, last) if before <= after else (first, last + 1)
    return slice(first, last)


def crossing(t_s: Array, values: Array, about_s: float) -> float:
    """When a rising value passed zero, by a parabola through the samples about `about_s`; `about_s` when it does not."""
    part = near(t_s, about_s)
    t, y = t_s[part] - about_s, values[part]
    if len(t) < 3:
        return about_s
    c, b, a = np.polynomial.polynomial.polyfit(t, y, 2)
    off_s = -c / b if b else 0.0
    for _ in range(4):  # Newton from the straight line's root
        slope = b + 2 * a * off_s
        if slope <= 0:
            return about_s
        off_s -= (c + b * off_s + a * off_s**2) / slope
    return float(about_s + off_s) if abs(off_s) <= HALF_WINDOW_S else about_s


def turned_back(t_s: Array, values: Array) -> float:
    """When a value that is falling now last turned from rising to falling: the zero of its local slope.

    After a wait at the top in which it trembled and sank a little, the end of the wait: where the fall proper began.
    """
    slopes = _slopes(t_s, values)
    waiting = np.flatnonzero(slopes > -_TREMBLING_RAD_S)
    if not len(waiting):
        return float(t_s[0])
    i = int(waiting[-1])
    fall_s = _reached(t_s, slopes, i, -_TREMBLING_RAD_S)
    rising = np.flatnonzero(slopes >= 0)
    if len(rising):
        zero_s = _reached(t_s, slopes, int(rising[-1]), 0.0)
        if fall_s - zero_s < _SOON_S:
            return zero_s
    return fall_s


def vertex(t_s: Array, values: Array, about_s: float) -> float:
    """When a value that rises and falls was greatest, by a quartic through the widest stretch that it fits.

    Width averages out what trembles (soft tissue, ten times a second); where a quartic cannot follow, a sharp top or a wait,
    a narrower one is tried, and at last the samples themselves.
    """
    for half_s in _WIDTHS_S:
        part = near(t_s, about_s, half_s=half_s)
        t, y = (t_s[part] - about_s) / half_s, values[part]
        if len(t) < 7 or t[0] > -0.8 or t[-1] < 0.8:
            continue
        fit = np.polynomial.Polynomial(np.polynomial.polynomial.polyfit(t, y, 4))
        if float(np.sqrt(np.mean((fit(t) - y) ** 2))) > _FITS_RAD:
            continue
        slope = fit.deriv()
        tops = [r.real for r in slope.roots() if abs(r.imag) < 1e-9 and abs(r.real) < 1 and slope.deriv()(r.real) < 0]
        if tops:
            return about_s + half_s * float(min(tops, key=abs))
    part = near(t_s, about_s, half_s=_WIDTHS_S[0])
    return turned_back(t_s[part], values[part])


def _reached(t_s: Array, values: Array, i: int, limit: float) -> float:
    """When values fall through a limit between sample i, still above it, and the next."""
    if i + 1 >= len(t_s):
        return float(t_s[-1])
    return float(t_s[i] + (t_s[i + 1] - t_s[i]) * (values[i] - limit) / (values[i] - values[i + 1]))


def _slopes(t_s: Array, values: Array) -> Array:
    """Local slope at every sample: straight line through it and two neighbours on each side, fewer at the ends."""
    n = len(t_s)
    if n < 2:
        return np.zeros(n)
    out = np.empty(n)
    for i in range(n):
        half = max(min(2, i, n - 1 - i), 1)
        part = slice(max(i - half, 0), i + half + 1)
        t = t_s[part] - t_s[part].mean()
        out[i] = t @ values[part] / (t @ t)
    return out


def nearest(t_s: Array, off_rad: Array, about_s: float) -> float:
    """When an angle off a direction was smallest.

    Passing a direction at speed v with a least angle d, the square of the angle is d^2 + v^2 (t - t0)^2: a parabola, where the
    angle itself has a sharp corner. A cubic through it allows for a changing speed.
    """
    part = near(t_s, about_s, half_s=0.014)
    t, y = t_s[part] - about_s, off_rad[part] ** 2
    if len(t) < 4:
        return about_s
    _, b, a, k = np.polynomial.polynomial.polyfit(t, y, 3)
    if a <= 0:
        return about_s
    off_s = -b / (2 * a)
    for _ in range(3):
        curvature = 2 * a + 6 * k * off_s
        if curvature <= 0:
            break
        off_s -= (b + 2 * a * off_s + 3 * k * off_s**2) / curvature
    return about_s + min(max(float(off_s), -HALF_WINDOW_S), HALF_WINDOW_S)


def onset(t_s: Array, turn_rad: Array) -> float:
    """When a turn began: the square root of its size, a straight line at constant acceleration, followed back to zero.

    `turn_rad` begins at rest and ends under way; it need not be zero at rest (a club settles a little off after a waggle).
    """
    slow = np.flatnonzero(_slopes(t_s, turn_rad) < _CREEPING_RAD_S)
    first = int(slow[-1]) if len(slow) else 0
    grown = turn_rad[first:] - turn_rad[first]
    under_way = np.flatnonzero((grown > _ONSET_FROM) & (grown < _ONSET_TO))
    if len(under_way) < 3:
        return float(t_s[first])
    c, b = np.polynomial.polynomial.polyfit(t_s[first:][under_way] - t_s[first], np.sqrt(grown[under_way]), 1)
    if b <= 0:
        return float(t_s[first])
    return max(float(t_s[first] - min(max(c / b, -_LONGEST_CREEP_S), _LONGEST_CREEP_S)), float(t_s[0]))


def values_at(t_s: Array, values: Array, at_s: float) -> Array:
    """Columns of `values`, shape (n, k), at an instant: a local parabola each; NaN where a sample needed is NaN."""
    return np.asarray(_parabola(t_s, values, at_s)[0])


def rates_at(t_s: Array, values: Array, at_s: float) -> Array:
    """How fast the columns change there, by the same parabola; NaN where there is but one sample."""
    found = _parabola(t_s, values, at_s)
    return np.asarray(found[1]) if len(found) > 1 else np.full(values.shape[1], np.nan)


def _parabola(t_s: Array, values: Array, at_s: float) -> Array:
    """Coefficients about an instant, ascending, a row each."""
    part = near(t_s, at_s)
    t = t_s[part] - at_s
    degree = min(2, len(t) - 1)
    design = np.vander(t, degree + 1, increasing=True)
    return np.asarray(np.linalg.pinv(design) @ values[part])
