"""Keyframes of all joints over a practice, written down in the order in which they happen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline

from sensors.virtual.curve import smooth_curve


class Timeline:
    """A pencil moving forward in time: `move` and `hold` append keyframes, `curves` gives the smooth result."""

    def __init__(self, start: Mapping[str, float]) -> None:
        self._keys: dict[str, list[tuple[float, float]]] = {name: [(0.0, value)] for name, value in start.items()}
        self.now_s = 0.0
        self._calm: list[tuple[float, float]] = []

    @property
    def posture(self) -> dict[str, float]:
        """Where every joint is now, but for involuntary motion."""
        return {name: keys[-1][1] for name, keys in self._keys.items()}

    def calm(self, start_s: float, end_s: float) -> None:
        """No involuntary motion in this stretch: the sensors are off the body."""
        self._calm.append((start_s, end_s))

    def hold(self, duration_s: float) -> None:
        """Let time pass with nothing asked of any joint."""
        self.now_s += duration_s

    def move(self, duration_s: float, **targets: float) -> None:
        """Bring joints to new values by the end of `duration_s`."""
        self.path(duration_s, {name: ((1.0, value),) for name, value in targets.items()})

    def path(self, duration_s: float, targets: Mapping[str, Sequence[tuple[float, float]]]) -> None:
        """Bring joints through values at given fractions of `duration_s`."""
        for name, points in targets.items():
            keys = self._keys[name]
            if self.now_s > keys[-1][0]:
                keys.append((self.now_s, keys[-1][1]))
            keys.extend((self.now_s + fraction * duration_s, value) for fraction, value in points if fraction > 0)
        self.now_s += duration_s

    def curves(
        self, rng: np.random.Generator, wander: Mapping[str, float], wander_spacing_s: float = 0.15
    ) -> dict[str, BSpline]:
        """Smooth every joint; `wander` is the standard deviation of involuntary motion by joint, same unit."""
        curves = {}
        for name, keys in self._keys.items():
            n = int(self.now_s / wander_spacing_s) + 2
            noise = self._calmed(rng.normal(0.0, wander[name], n)) if wander.get(name) else None
            times_s, values = zip(*keys, strict=True)
            curves[name] = smooth_curve(times_s, values, self.now_s, noise)
        return curves

    def _calmed(self, noise: NDArray[np.float64]) -> NDArray[np.float64]:
        times_s = np.linspace(0.0, self.now_s, len(noise))
        for start_s, end_s in self._calm:
            noise[(times_s > start_s - 0.3) & (times_s < end_s + 0.3)] = 0.0
        return noise
