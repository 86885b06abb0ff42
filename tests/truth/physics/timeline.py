"""Joint motion as a sum of smooth pieces, with exact first and second derivatives.

A piece is zero before its start and constant after its end: quintic segments between knots (minimum jerk when the
knots are at rest: Flash & Hogan 1985, J Neurosci 5:1688-1703), and bursts of sinusoids in a smooth envelope.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BPoly

Series = NDArray[np.float64]


class Piece(Protocol):
    """A part of one joint's motion."""

    start_s: float
    end_s: float
    total: float  # value after the end

    def __call__(self, t_s: Series) -> Series:
        """Value, rate, acceleration: shape (3, n)."""


@dataclass(slots=True)
class Knots:
    """Quintic segments through (time, value, rate) with no acceleration at the knots; the first value is 0."""

    t_s: Sequence[float]
    values: Sequence[float]
    rates: Sequence[float]

    @property
    def start_s(self):
        return self.t_s[0]

    @property
    def end_s(self):
        return self.t_s[-1]

    @property
    def total(self):
        return self.values[-1]

    def __call__(self, t_s):
        poly = BPoly.from_derivatives(self.t_s, [[v, r, 0.0] for v, r in zip(self.values, self.rates, strict=True)])
        inside = (t_s > self.start_s) & (t_s < self.end_s)
        out = np.zeros((3, t_s.size))
        out[0, t_s >= self.end_s] = self.total
        for order, p in enumerate((poly, poly.derivative(), poly.derivative(2))):
            out[order, inside] = p(t_s[inside])
        return out


@dataclass(slots=True)
class Burst:
    """A sum of sinusoids (amplitude, Hz, phase) inside an envelope that rises and falls in `ramp_s`."""

    start_s: float
    end_s: float
    ramp_s: float
    tones: Sequence[tuple[float, float, float]]
    total: float = 0.0

    def __call__(self, t_s):
        e = envelope(t_s, self.start_s, self.end_s, min(self.ramp_s, (self.end_s - self.start_s) / 2.0))
        s = np.zeros((3, t_s.size))
        for amplitude, hz, phase in self.tones:
            w = 2.0 * np.pi * hz
            a = w * (t_s - self.start_s) + phase
            s += amplitude * np.stack([np.sin(a), w * np.cos(a), -w * w * np.sin(a)])
        return np.stack([e[0] * s[0], e[1] * s[0] + e[0] * s[1], e[2] * s[0] + 2.0 * e[1] * s[1] + e[0] * s[2]])


def envelope(t_s: Series, start_s: float, end_s: float, ramp_s: float) -> Series:
    """From 0 to 1 and back, twice differentiable; shape (3, n)."""
    up, down = _step((t_s - start_s) / ramp_s), _step((end_s - t_s) / ramp_s)
    scale = np.array([[1.0], [1.0 / ramp_s], [1.0 / ramp_s**2]])
    up, down = up * scale, down * scale * np.array([[1.0], [-1.0], [1.0]])
    return np.stack([up[0] * down[0], up[1] * down[0] + up[0] * down[1],
                     up[2] * down[0] + 2.0 * up[1] * down[1] + up[0] * down[2]])  # fmt: skip


def _step(u: Series) -> Series:
    u = np.clip(u, 0.0, 1.0)
    return np.stack(
        [u**3 * (10.0 - 15.0 * u + 6.0 * u**2), 30.0 * u**2 * (1.0 - u) ** 2, 60.0 * u * (1.0 - u) * (1.0 - 2.0 * u)]
    )


class Timeline:
    """All pieces of all joints."""

    def __init__(self, n_joints: int):
        self._pieces: list[list[Piece]] = [[] for _ in range(n_joints)]
        self.home = np.zeros(n_joints)  # where each joint is before anything moves
        self.follows: list[tuple[int, int, float, float]] = []  # (joint, leader, gain, leader's zero)

    def add(self, joint: int, piece: Piece) -> None:
        self._pieces[joint].append(piece)

    def __call__(self, t_s: Series) -> tuple[Series, Series, Series]:
        """Positions, velocities, accelerations at increasing times, each of shape (n, joints)."""
        out = np.zeros((3, t_s.size, len(self._pieces)))
        for joint, pieces in enumerate(self._pieces):
            out[0, :, joint] = self.home[joint]
            for piece in pieces:
                if piece.end_s <= t_s[0]:
                    out[0, :, joint] += piece.total
                elif piece.start_s < t_s[-1]:
                    out[:, :, joint] += piece(t_s)
        for joint, leader, gain, zero in self.follows:
            out[:, :, joint] += gain * out[:, :, leader]
            out[0, :, joint] -= gain * zero
        return out[0], out[1], out[2]
