"""Smooth joint curves with exact derivatives.

Keyframes are joined by a monotone cubic (PCHIP, no overshoot) whose samples become the coefficients of a uniform
quintic B-spline. The spline is the motion: four times continuously differentiable, derivatives in closed form.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline, PchipInterpolator

DEGREE = 5
SPACING_S = 0.025
"""Knot spacing; the spline blurs the keyframes by about 0.7 of it."""


def smooth_curve(
    times_s: Sequence[float], values: Sequence[float], end_s: float, wander: NDArray[np.float64] | None = None
) -> BSpline:
    """Curve through keyframes over [0, end_s]; constant outside them.

    `wander`, shape (k,), is added to the coefficients, stretched over the whole duration: involuntary motion.
    """
    n = int(np.ceil(end_s / SPACING_S)) + DEGREE
    knots = SPACING_S * np.arange(-DEGREE, n + 1, dtype=np.float64)
    centres_s = knots[: n + DEGREE + 1][np.arange(n)] + SPACING_S * (DEGREE + 1) / 2
    if len(times_s) == 1:
        coefficients = np.full(n, float(values[0]))
    else:
        inside = np.clip(centres_s, times_s[0], times_s[-1])
        coefficients = np.asarray(PchipInterpolator(times_s, values)(inside), dtype=np.float64)
    if wander is not None:
        coefficients = coefficients + np.interp(np.linspace(0, 1, n), np.linspace(0, 1, len(wander)), wander)
    return BSpline(knots, coefficients, DEGREE, extrapolate=True)
