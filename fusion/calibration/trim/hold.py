"""What one held attitude says: the mean force and rate over the stretch of it whose means are best known, and how well.

A hold made by hand has motion at its edges and tremor all along. The window is cut into blocks of a tenth of a second; of all
stretches of blocks the one is taken whose mean has the smallest standard error, as its own blocks show it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

Array = NDArray[np.float64]

BLOCK_S = 0.1
FORCE_FLOOR_M_S2 = 0.003
"""What averaging does not remove: about half a thousandth of g of wandering offset; typical of consumer parts, from memory."""
RATE_FLOOR_RAD_S = math.radians(0.02)
CORRELATED = 1.5
"""Neighbouring blocks of a trembling hand are alike: so many of them count as one."""
_LEVER_M_S = 9.80665 * BLOCK_S
"""Change of the force in m/s2 while a block turns at one rad/s."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """Means over the best stretch, raw (nothing calibrated), in sensor axes as they lay in its middle."""

    middle_s: float
    """Device time."""
    force_m_s2: Array
    """Shape (3,)."""
    force_sd_m_s2: float
    """Standard error of each axis."""
    rate_rad_s: Array
    """Shape (3,): the gyroscope's offset, and whatever the hold turned."""
    rate_sd_rad_s: float
    """How far the mean rate may be from the offset: as far as the blocks scatter, since a slow turn does not average out."""
    tremor_rad_s: float
    """Root mean square of the blocks' rates about their mean."""
    length_s: float


def best_hold(
    device_s: Array, gyr_rad_s: Array, acc_m_s2: Array, shortest_s: float, offset_rad_s: Array | None = None
) -> Hold | None:
    """Take the best stretch of at least `shortest_s` of a window, shapes (n,), (n, 3), (n, 3); None if the window is shorter.

    `offset_rad_s` is the gyroscope's offset where it is known, shape (3,); else the hold is taken not to turn on the whole.
    """
    if len(device_s) < 3:
        return None
    usual_s = float(np.median(np.diff(device_s)))
    per_block = max(1, round(BLOCK_S / usual_s)) if usual_s > 0 else len(device_s)
    n_blocks, shortest = len(device_s) // per_block, max(2, math.ceil(shortest_s / BLOCK_S - 1e-6))
    if n_blocks < shortest:
        return None
    rates = _block_means(gyr_rad_s, per_block, n_blocks)
    forces = _block_means(acc_m_s2, per_block, n_blocks)
    first, last = _best_stretch(np.hstack([forces, _LEVER_M_S * rates]), shortest)
    stretch = slice(first * per_block, last * per_block)
    t_s = device_s[stretch]
    middle = len(t_s) // 2
    rate = gyr_rad_s[stretch].mean(axis=0)
    offset = rate if offset_rad_s is None else offset_rad_s
    upright = _turned_to(middle, t_s, gyr_rad_s[stretch] - offset, acc_m_s2[stretch])
    n = last - first
    force_scatter = _block_means(upright, per_block, n).var(axis=0, ddof=1).mean()
    rate_scatter = rates[first:last].var(axis=0, ddof=1)
    return Hold(
        middle_s=float(t_s[middle]),
        force_m_s2=upright.mean(axis=0),
        force_sd_m_s2=math.sqrt(FORCE_FLOOR_M_S2**2 + CORRELATED * float(force_scatter) / n),
        rate_rad_s=rate,
        rate_sd_rad_s=math.sqrt(RATE_FLOOR_RAD_S**2 + float(rate_scatter.mean())),
        tremor_rad_s=math.sqrt(float(rate_scatter.sum())),
        length_s=n * BLOCK_S,
    )


def _block_means(values: Array, per_block: int, n_blocks: int) -> Array:
    return np.asarray(values[: per_block * n_blocks].reshape(n_blocks, per_block, 3).mean(axis=1))


def _best_stretch(blocks: Array, shortest: int) -> tuple[int, int]:
    """First and one past the last block of the stretch whose scatter over its length is least; `blocks` is (n, k)."""
    n = len(blocks)
    about = blocks - blocks.mean(axis=0)  # keeps the difference of squares below accurate
    sums = np.vstack([np.zeros(about.shape[1]), np.cumsum(about, axis=0)])
    squares = np.concatenate([[0.0], np.cumsum((about**2).sum(axis=1))])
    first, last = np.triu_indices(n + 1, k=shortest)
    length = last - first
    scatter = (squares[last] - squares[first]) - ((sums[last] - sums[first]) ** 2).sum(axis=1) / length
    # One degree of freedom is the mean's; the floor lets a longer stretch win where nothing moves at all.
    cost = (np.maximum(scatter, 0.0) / (length - 1) + FORCE_FLOOR_M_S2**2) / length
    best = int(np.argmin(cost))
    return int(first[best]), int(last[best])


def _turned_to(middle: int, t_s: Array, gyr_rad_s: Array, acc_m_s2: Array) -> Array:
    """Forces in the axes of the middle sample. An error of the offset cancels in their mean, as the stretch is even about it."""
    steps = (gyr_rad_s[1:] + gyr_rad_s[:-1]) / 2 * np.diff(t_s)[:, None]
    turned = np.vstack([np.zeros(3), np.cumsum(steps, axis=0)])
    return np.asarray(Rotation.from_rotvec(turned - turned[middle]).apply(acc_m_s2))
