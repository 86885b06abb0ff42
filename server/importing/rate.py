"""The sampling rate of a file, from the device times of its first block."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from server.importing.faults import Fault, ImportFault

LOWEST_HZ: Final = 20.0
"""Below this a downswing of a quarter of a second is five samples."""
HIGHEST_HZ: Final = 10_000.0
_HOLE: Final = 1.5


def measured_rate_hz(path: Path, device_s: NDArray[np.float64]) -> float:
    """Mean rate over the steps that are no holes. Raises `ImportFault` when it is no rate of an inertial sensor.

    A mean and not a median: stamps rounded to milliseconds step by 4 and 5 at 208 Hz.
    """
    steps_s = np.diff(device_s)
    steps_s = steps_s[steps_s > 0.0]
    if len(steps_s) == 0:
        raise ImportFault(path, Fault.NO_ROWS)
    rate_hz = 1.0 / float(steps_s[steps_s <= _HOLE * np.median(steps_s)].mean())
    if not LOWEST_HZ <= rate_hz <= HIGHEST_HZ:
        raise ImportFault(path, Fault.RATE, found=f"{rate_hz:.3g}")
    return rate_hz
