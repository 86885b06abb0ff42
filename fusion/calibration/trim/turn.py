"""The turn from one hold to the next, kept short: a few rotation vectors a second instead of two hundred samples.

Each is the strapdown's turn over some samples, of the *raw* rate. A calibration tried later is applied to the rotation vectors:
matrix (phi - offset dt) differs from integrating corrected samples only by products of the calibration with the coning within
a vector: less than 1e-4 rad over five seconds of handling, as a test shows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fusion.orientation.strapdown import Strapdown
from fusion.rotation import IDENTITY, Quat, Vec

Array = NDArray[np.float64]

SAMPLES_A_STEP = 8
LONGEST_S = 60.0
"""Holds further apart are not joined: the offset's wandering would outgrow what the turn tells."""
SPARE_S = 10.0
"""A window may be told so long after its samples came."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """From the middle of one hold to the middle of a later one."""

    steps_rad: Array
    """Rotation vectors of the raw rate, in sensor axes, one after the other; shape (n, 3)."""
    step_s: Array
    """Their durations, shape (n,)."""

    @property
    def length_s(self) -> float:
        """Time from hold to hold."""
        return float(self.step_s.sum())

    @property
    def path_rad(self) -> float:
        """How far it turned altogether, back and forth."""
        return float(np.linalg.norm(self.steps_rad, axis=1).sum())

    def then(self, other: Turn) -> Turn:
        """Go on with a turn that begins where this one ends."""
        return Turn(
            steps_rad=np.vstack([self.steps_rad, other.steps_rad]), step_s=np.concatenate([self.step_s, other.step_s])
        )


def turn_of(device_s: Array, gyr_rad_s: Array, usual_s: float) -> Turn | None:
    """Integrate raw rates, shapes (n,) and (n, 3), times rising; None when samples are missing that cannot be bridged."""
    strapdown = Strapdown()
    steps: list[Vec] = []
    ends = [0]
    times = device_s.tolist()
    for i, (t_s, rate) in enumerate(zip(times, gyr_rad_s.tolist(), strict=True)):
        q = strapdown.push(t_s, (rate[0], rate[1], rate[2]), usual_s)
        if i and (i % SAMPLES_A_STEP == 0 or i == len(times) - 1):
            steps.append(rotation_vector(q))
            ends.append(i)
            strapdown.q_free_from_sensor = IDENTITY
    if strapdown.n_breaks or not steps:
        return None
    return Turn(steps_rad=np.array(steps), step_s=np.diff(device_s[ends]))


def rotation_vector(q: Quat) -> Vec:
    """Axis times angle, radians, angle in [0, pi]: the inverse of `fusion.rotation.exp`."""
    w, x, y, z = q if q[0] >= 0 else (-q[0], -q[1], -q[2], -q[3])
    sine = math.sqrt(x * x + y * y + z * z)
    if sine < 1e-9:
        return (2 * x, 2 * y, 2 * z)
    by = 2 * math.atan2(sine, w) / sine
    return (by * x, by * y, by * z)


class Between:
    """Raw rates since the middle of the last hold, for as long as they can be joined; without such a hold the last `SPARE_S`."""

    def __init__(self) -> None:
        self._times: list[Array] = []
        self._rates: list[Array] = []
        self._from_s: float | None = None

    def forget(self) -> None:
        """Join nothing to the last hold any more."""
        self._times, self._rates, self._from_s = [], [], None

    def push(self, device_s: Array, gyr_rad_s: Array) -> None:
        """Take in samples in order of time; those already here are passed over."""
        if not len(device_s):
            return
        if self._times:
            first_s, last_s = float(self._times[0][0]), float(self._times[-1][-1])
            if device_s[-1] < first_s or (
                self._from_s is not None and device_s[-1] - self._from_s > LONGEST_S + SPARE_S
            ):
                self.forget()  # the device started anew, or this is too late to be joined
            else:
                new = device_s > last_s
                device_s, gyr_rad_s = device_s[new], gyr_rad_s[new]
        if len(device_s):
            self._times.append(device_s)
            self._rates.append(gyr_rad_s)
        while self._from_s is None and len(self._times) > 1 and self._times[-1][-1] - self._times[0][-1] > SPARE_S:
            del self._times[0], self._rates[0]

    def hold(self, device_s: Array, gyr_rad_s: Array, middle_s: float, usual_s: float) -> Turn | None:
        """A window with a hold in it, whether or not its samples came through `push`: give the turn from the last hold's middle.

        None if there was no hold or it cannot be joined. The next turn begins at this one's middle.
        """
        turn = None
        times, rates = device_s, gyr_rad_s
        if self._times and device_s[-1] > self._times[0][0]:  # else the device started anew
            had_times, had_rates = np.concatenate(self._times), np.concatenate(self._rates)
            early, late = had_times < device_s[0], had_times > device_s[-1]
            if self._from_s is not None and 0 < middle_s - self._from_s <= LONGEST_S:
                upto = device_s <= middle_s
                turn = turn_of(
                    np.concatenate([had_times[early], device_s[upto]]),
                    np.concatenate([had_rates[early], gyr_rad_s[upto]]),
                    usual_s,
                )
            times, rates = np.concatenate([times, had_times[late]]), np.concatenate([rates, had_rates[late]])
        self._from_s = middle_s
        self._times, self._rates = [times[times >= middle_s]], [rates[times >= middle_s]]
        return turn
