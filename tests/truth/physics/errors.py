"""Consumer-grade inertial sensors: what the parts add to an ideal reading. Drawn at random, one draw for one sensor.

Figures are the brief's of this suite and ordinary for consumer parts (from memory, no data sheet seen): they are loads
for a test, not facts.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, sosfilt, sosfilt_zi

Series = NDArray[np.float64]
G = 9.81
FULL_GYR_RAD_S = np.radians(2000.0)
FULL_ACC_M_S2 = 16.0 * G
DELAY_S = 2.7e-3


@dataclass(slots=True)
class Part:
    """One three-axis part: gain matrix, offset that wanders, white noise, low-pass, range, 16 bits."""

    gain: Series  # (3, 3)
    offset: Series  # (3,), wanders
    walk: float  # per root second
    noise: float  # per sample at the engine's rate
    full: float
    sos: Series
    state: Series  # (sections, 2, 3)
    started: bool = False

    def __call__(self, ideal: Series, step_s: float, rng: np.random.Generator) -> Series:
        """Readings at the engine's rate, shape (n, 3), before sampling; carries on from the last call."""
        wander = self.offset + np.cumsum(rng.normal(0.0, self.walk * np.sqrt(step_s), ideal.shape), axis=0)
        self.offset = wander[-1]
        raw = ideal @ self.gain.T + wander + rng.normal(0.0, self.noise, ideal.shape)
        raw = np.clip(raw, -self.full, self.full)
        if not self.started:  # as if it had read its first value for ever
            self.state, self.started = self.state * raw[0], True
        smooth, self.state = sosfilt(self.sos, raw, axis=0, zi=self.state)
        return smooth

    def perfect(self) -> Part:
        """The same part without its errors: only the low-pass, the range and the bits are left."""
        return replace(self, gain=np.eye(3), offset=np.zeros(3), walk=0.0, noise=0.0)

    def digits(self, values: Series) -> Series:
        """What 16 bits make of it, back in SI."""
        step = self.full / 32768.0
        return np.clip(np.round(values / step), -32768, 32767) * step


def draw_gyroscope(rng: np.random.Generator, rate_hz: float) -> Part:
    """Bias 1 deg/s sd with a random walk, scale 1 %, cross-axis 0.3 %."""
    density = np.radians(0.007)  # rad/s per root hertz
    return _part(rng, rate_hz, np.radians(1.0), np.radians(0.003), density, 0.01, FULL_GYR_RAD_S)


def draw_accelerometer(rng: np.random.Generator, rate_hz: float) -> Part:
    """Offset 0.02 g sd, scale 0.5 %, cross-axis 0.3 %."""
    return _part(rng, rate_hz, 0.02 * G, 2e-5 * G, 120e-6 * G, 0.005, FULL_ACC_M_S2)


def _part(rng, rate_hz, offset, walk, density, scale, full) -> Part:
    gain = np.eye(3) + rng.normal(0.0, 0.003, (3, 3))
    gain[np.diag_indices(3)] = 1.0 + rng.normal(0.0, scale, 3)
    delay_s = DELAY_S * rng.normal(1.0, 0.03)
    sos = butter(2, np.sqrt(2.0) / (2.0 * np.pi * delay_s), fs=rate_hz, output="sos")
    state = np.zeros((len(sos), 2, 3)) + sosfilt_zi(sos)[:, :, None]
    return Part(gain, rng.normal(0.0, offset, 3), walk, density * np.sqrt(rate_hz / 2.0), full, sos, state)


def shock(t_s: Series, impact_s: float, rng: np.random.Generator, on_club: bool) -> tuple[Series, Series]:
    """What a struck ball adds to (gyroscope, accelerometer): ringing that dies away in a few hundredths of a second,
    without a lasting turn.
    """
    after = t_s - impact_s
    live = (after >= 0.0) & (after < 0.12)
    gyr, acc = np.zeros((t_s.size, 3)), np.zeros((t_s.size, 3))
    if live.any():
        a = after[live, None]
        hz, fade_s = rng.uniform(45.0, 90.0, 3), rng.uniform(0.012, 0.025)
        jolt = np.radians(rng.normal(0.0, 150.0 if on_club else 20.0, 3))
        blow = rng.normal(0.0, 120.0 if on_club else 35.0, 3)
        ring = np.exp(-a / fade_s) * np.cos(2.0 * np.pi * hz * a)
        gyr[live] = jolt * (ring - ring.mean(axis=0))
        acc[live] = blow * ring
    return gyr, acc
