"""What the motion itself tells of scales and axes: gravity at rest, and how it turns when the sensor is turned by hand.

In a sensor's own axes a fixed direction turns against the sensor: d(acc)/dt = -gyr x acc while little else accelerates it.
Were an axis swapped, a sign wrong or the axes left-handed, some other gyroscope would explain the turning better: each of the 48
ways to permute and sign its axes is tried.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from sensors.check.decoded import Decoded

REST_S: Final = 0.5
REST_SPREAD: Final = 0.02
"""A rest's readings vary by less than this share of their size."""
_WINDOW_S: Final = 0.25
_FORCE_TOLERANCE: Final = 0.05
"""Nearer than this share to the usual force at rest, and the sensor is taken to be turned only."""
_FEWEST_WINDOWS: Final = 15
_LEAST_TURN_RAD: Final = 0.3
"""How far gravity must have turned in a window: what the arm adds to it is small beside that."""
_LEAST_SHARE: Final = 0.05
"""Of all turning, about the axis turned about least: less tells nothing about that axis."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AtRest:
    """What the sensor reads when it lies still."""

    n_rests: int
    force_m_s2: float
    """Size of the specific force, median over the rests."""
    rate_rad_s: float
    """Size of the mean angular rate, median over the rests."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turning:
    """How gravity turned, and how the gyroscope says it should have."""

    n_windows: int
    scale: float
    """Observed over expected with the axes as they are: 1 when all is well, -1 with left-handed axes."""
    explained: float
    """Share of the turning that the axes as they are explain, 0 to 1."""
    best_axes: tuple[str, ...]
    """The gyroscope's axes that explain it best, in terms of those it has now: +x +y +z when all is well."""
    best_explained: float
    next_explained: float
    """By the second best axes: what is near the best cannot be told from it."""


def at_rest(decoded: Decoded, rate_hz: float) -> AtRest | None:
    """Look at every half second that is quiet; None when there is none. Judges by spread alone, whatever the scales are."""
    size = max(2, round(REST_S * rate_hz))
    forces, rates = [], []
    for start, end in _windows(decoded, size):
        acc = decoded.acc_m_s2[start:end]
        mean = acc.mean(axis=0)
        force = float(np.linalg.norm(mean))
        if force > 0.0 and float(np.linalg.norm(acc.std(axis=0))) < REST_SPREAD * force:
            forces.append(force)
            rates.append(float(np.linalg.norm(decoded.gyr_rad_s[start:end].mean(axis=0))))
    if not forces:
        return None
    return AtRest(n_rests=len(forces), force_m_s2=float(np.median(forces)), rate_rad_s=float(np.median(rates)))


def turning(decoded: Decoded, rate_hz: float, force_m_s2: float) -> Turning | None:
    """Compare windows in which the sensor was turned, not shaken; None when there are too few, or about one axis only.

    `force_m_s2` is the size of gravity as this sensor reads it.
    """
    size = max(4, round(_WINDOW_S * rate_hz))
    observed, terms = [], []
    for start, end in _windows(decoded, size):
        acc, gyr = decoded.acc_m_s2[start:end], decoded.gyr_rad_s[start:end]
        if np.abs(np.linalg.norm(acc, axis=1) - force_m_s2).max() > _FORCE_TOLERANCE * force_m_s2:
            continue
        change = acc[-1] - acc[0]
        if np.linalg.norm(change) < _LEAST_TURN_RAD * force_m_s2:
            continue
        steps_s = np.diff(decoded.device_s[start:end])
        middle_acc, middle_gyr = (acc[1:] + acc[:-1]) / 2, (gyr[1:] + gyr[:-1]) / 2
        # change = -integral(w x a) is linear in w's components: sum over axes of w_j times (a x e_j), integrated.
        products = np.einsum("nj,ni,n->ji", middle_gyr, middle_acc, steps_s)
        terms.append(products)
        observed.append(change)
    if len(observed) < _FEWEST_WINDOWS:
        return None
    seen, parts = np.array(observed), np.array(terms)
    across = parts * (1.0 - np.eye(3))  # turning about the direction of gravity itself moves nothing
    turned = np.sqrt((across**2).sum(axis=(0, 2)))
    if turned.min() < _LEAST_SHARE * turned.sum():
        return None
    total = float((seen**2).sum())
    fits = {axes: _fit(seen, parts, order, signs, total) for axes, order, signs in _ALL_AXES}
    as_is = fits["+x", "+y", "+z"]
    best, second = sorted(fits, key=lambda axes: -fits[axes][1])[:2]
    return Turning(
        n_windows=len(seen),
        scale=as_is[0],
        explained=as_is[1],
        best_axes=best,
        best_explained=fits[best][1],
        next_explained=fits[second][1],
    )


def _fit(
    seen: NDArray[np.float64], parts: NDArray[np.float64], order: tuple[int, ...], signs: tuple[int, ...], total: float
) -> tuple[float, float]:
    """Give scale and explained share when the gyroscope's axes are taken in this order and with these signs."""
    # parts[n, j, i] is the integral of w_j a_i; the cross product a x w has components a_y w_z - a_z w_y and so on.
    taken = parts[:, order, :] * np.array(signs)[None, :, None]
    expected = np.stack(
        [
            taken[:, 2, 1] - taken[:, 1, 2],
            taken[:, 0, 2] - taken[:, 2, 0],
            taken[:, 1, 0] - taken[:, 0, 1],
        ],
        axis=1,
    )
    power = float((expected**2).sum())
    if power == 0.0 or total == 0.0:
        return 0.0, 0.0
    product = float((seen * expected).sum())
    scale = product / power
    return scale, max(0.0, product) ** 2 / (power * total)


def _windows(decoded: Decoded, size: int) -> list[tuple[int, int]]:
    """Cut unbroken stretches into windows that overlap by half."""
    return [
        (start, start + size)
        for stretch in decoded.stretches
        for start in range(stretch.start, stretch.stop - size + 1, size // 2)
    ]


_ALL_AXES: Final = [
    (tuple(("+" if sign > 0 else "-") + "xyz"[axis] for axis, sign in zip(order, signs, strict=True)), order, signs)
    for order in itertools.permutations(range(3))
    for signs in itertools.product((1, -1), repeat=3)
]
