"""Collects the holds of one sensor, and says what they come to."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from fusion.calibration.trim.hold import Hold, best_hold
from fusion.calibration.trim.model import Joint
from fusion.calibration.trim.result import Rejection, TrimResult, figures_of, misfit_pct, offset_only, trim_of
from fusion.calibration.trim.solve import Solution, solve_faults
from fusion.calibration.trim.turn import Between
from fusion.orientation.rest import STANDARD_GRAVITY_M_S2
from fusion.outputs.fit import FitReason

Array = NDArray[np.float64]

SHORTEST_STILL_S = 1.0
SHORTEST_HOLD_S = 0.5
STILL_TREMOR_DEG_S = 0.3
"""A tenth of a second's mean rate scatters by 0.02 to 0.1 deg/s on a table and 0.5 to 2 in a hand: set in simulation."""
HOLD_TREMOR_DEG_S = 8.0
LARGEST_OFFSET_DEG_S = 10.0
"""A mean rate beyond this is a turn and not an offset; data sheets give zero rates of 1 to 10 deg/s, from memory."""
GRAVITY_TOLERANCE_M_S2 = 2.0
"""An untrimmed sensor reads within this of g: offsets on three axes and 1 % of scale, four standard deviations."""
DISTINCT_RAD = math.radians(30.0)
FEWEST_ATTITUDES = 6
"""For a calibration worth keeping."""
FEWEST_USED = 3
"""From here on the best estimate is better than none for this practice; its standard deviations say how good it is."""
MISFIT_LIMIT_PCT = 2.0
MOST_HOLDS = 24
"""The oldest goes when there are more."""
HOLDS_PER_DROP = 6
"""One hold in so many may be left out as spoilt, if that halves the misfit or better."""
SUSPECT_SLACK = 3.0
"""Holds that scatter this many times more than each by itself shows: one of them was pushed."""


class TrimCollector:
    """One sensor. All samples raw, in sensor axes, times on the device's clock; windows in order of time.

    `add_still`, `add_hold`: one window of a `still` or `attitude` move, motion at its edges allowed; they give the reason if the
    window was no use. `bridge`: every sample between windows (those of the windows themselves may come too, before or after).
    """

    def __init__(self, *, rate_hz: float = 200.0, gravity_m_s2: float = STANDARD_GRAVITY_M_S2) -> None:
        self._usual_s = 1.0 / rate_hz
        self._g = gravity_m_s2
        self._still: Hold | None = None
        self._holds: list[Hold] = []
        self._joints: list[Joint] = []
        self._between = Between()

    def add_still(self, gyr_rad_s: Array, acc_m_s2: Array, t_s: float) -> Rejection | None:
        """Take a window of lying still, shapes (n, 3), begun at `t_s`; a later one takes its place."""
        device_s = t_s + self._usual_s * np.arange(len(gyr_rad_s), dtype=np.float64)
        hold = best_hold(device_s, gyr_rad_s, acc_m_s2, SHORTEST_STILL_S)
        rejection = _unusable(hold, len(gyr_rad_s) * self._usual_s, SHORTEST_STILL_S, STILL_TREMOR_DEG_S, self._g)
        if rejection is None:
            self._still = hold
        return rejection

    def add_hold(self, device_s: Array, gyr_rad_s: Array, acc_m_s2: Array) -> Rejection | None:
        """Take a window of a held attitude, shapes (n,), (n, 3), (n, 3)."""
        if not len(device_s) or (np.diff(device_s) <= 0).any():
            self._between.forget()  # nothing came, or the sensor started anew within the window
            return Rejection(reason=FitReason.NO_DATA, measured=0.0, limit=SHORTEST_HOLD_S)
        offset = None if self._still is None else self._still.rate_rad_s
        hold = best_hold(device_s, gyr_rad_s, acc_m_s2, SHORTEST_HOLD_S, offset)
        length_s = float(device_s[-1] - device_s[0]) + self._usual_s
        rejection = _unusable(hold, length_s, SHORTEST_HOLD_S, HOLD_TREMOR_DEG_S, self._g)
        if hold is None or rejection is not None:
            self._between.push(device_s, gyr_rad_s)
            return rejection
        turn = self._between.hold(device_s, gyr_rad_s, hold.middle_s, self._usual_s)
        self._holds.append(hold)
        if turn is not None:
            self._joints.append(Joint(last=len(self._holds) - 2, next=len(self._holds) - 1, turn=turn))
        if len(self._holds) > MOST_HOLDS:
            self._holds, self._joints = _without(self._holds, self._joints, 0)
        return None

    def bridge(self, device_s: Array, gyr_rad_s: Array) -> None:
        """Take in samples between windows, shapes (n,) and (n, 3)."""
        self._between.push(device_s, gyr_rad_s)

    @property
    def n_attitudes(self) -> int:
        """Distinct attitudes so far: each at least 30 degrees of tilt from all counted before it."""
        return _n_distinct(self._all_holds())

    def solve(self) -> TrimResult:
        """The best calibration from all holds so far, and what it lacks; below three attitudes the offset of `still` alone."""
        holds, joints = self._all_holds(), list(self._joints)
        partial = offset_only(self._still.rate_rad_s) if self._still is not None else None
        if not holds:
            return TrimResult(
                trim=None, rejection=Rejection(reason=FitReason.NO_DATA, measured=0, limit=FEWEST_ATTITUDES)
            )
        n_attitudes = _n_distinct(holds)
        few = Rejection(reason=FitReason.FEW_ATTITUDES, measured=n_attitudes, limit=FEWEST_ATTITUDES)
        if n_attitudes < FEWEST_USED:
            return TrimResult(trim=partial, rejection=few)
        solution = solve_faults(holds, joints, self._g)
        n_dropped = 0
        while n_dropped < len(self._holds) // HOLDS_PER_DROP and _suspect(solution):
            better = self._drop_one(holds, joints)
            if better is None or misfit_pct(better[2]) > misfit_pct(solution) / 2:
                break
            holds, joints, solution = better
            n_dropped += 1
        figures = figures_of(solution, n_attitudes=_n_distinct(holds), n_dropped=n_dropped)
        if figures.misfit_pct > MISFIT_LIMIT_PCT:
            poor = Rejection(reason=FitReason.POOR_TRIM, measured=figures.misfit_pct, limit=MISFIT_LIMIT_PCT)
            return TrimResult(trim=partial, figures=figures, rejection=poor)
        rejection = few if n_attitudes < FEWEST_ATTITUDES else None
        return TrimResult(trim=trim_of(solution, self._g), figures=figures, rejection=rejection)

    def _all_holds(self) -> list[Hold]:
        """`still` is an attitude too; last, so that the joints' indices hold."""
        return [*self._holds, self._still] if self._still is not None else list(self._holds)

    def _drop_one(self, holds: list[Hold], joints: list[Joint]) -> tuple[list[Hold], list[Joint], Solution] | None:
        """Leave out the hold whose going leaves the smallest misfit; None if that takes too many attitudes away."""
        rests = [_without(holds, joints, k) for k in range(len(holds)) if holds[k] is not self._still]
        enough = [rest for rest in rests if _n_distinct(rest[0]) >= FEWEST_ATTITUDES]
        if not enough:
            return None
        kept, joined = min(enough, key=lambda rest: misfit_pct(solve_faults(rest[0], rest[1], self._g, rounds=1)))
        return kept, joined, solve_faults(kept, joined, self._g)


def _unusable(hold: Hold | None, length_s: float, shortest_s: float, tremor_deg_s: float, g: float) -> Rejection | None:
    if hold is None:
        return Rejection(reason=FitReason.NO_DATA, measured=length_s, limit=shortest_s)
    tremor = math.degrees(hold.tremor_rad_s)
    if tremor > tremor_deg_s:
        return Rejection(reason=FitReason.MOVING, measured=tremor, limit=tremor_deg_s)
    mean_rate = math.degrees(float(np.linalg.norm(hold.rate_rad_s)))
    if mean_rate > LARGEST_OFFSET_DEG_S:
        return Rejection(reason=FitReason.MOVING, measured=mean_rate, limit=LARGEST_OFFSET_DEG_S)
    off = abs(float(np.linalg.norm(hold.force_m_s2)) - g)
    if off > GRAVITY_TOLERANCE_M_S2:
        return Rejection(reason=FitReason.NOT_GRAVITY, measured=off, limit=GRAVITY_TOLERANCE_M_S2)
    return None


def _suspect(solution: Solution) -> bool:
    """One of the holds may be spoilt."""
    return misfit_pct(solution) > MISFIT_LIMIT_PCT or solution.slack > SUSPECT_SLACK


def _n_distinct(holds: list[Hold]) -> int:
    ups: list[Array] = []
    for hold in holds:
        up = hold.force_m_s2 / np.linalg.norm(hold.force_m_s2)
        if all(float(up @ other) < math.cos(DISTINCT_RAD) for other in ups):
            ups.append(up)
    return len(ups)


def _without(holds: list[Hold], joints: list[Joint], gone: int) -> tuple[list[Hold], list[Joint]]:
    """Leave out a hold; the turns before and after it become one."""
    before = next((joint for joint in joints if joint.next == gone), None)
    after = next((joint for joint in joints if joint.last == gone), None)
    kept = [joint for joint in joints if gone not in (joint.last, joint.next)]
    if before is not None and after is not None:
        kept.append(Joint(last=before.last, next=after.next, turn=before.turn.then(after.turn)))
    shifted = [Joint(last=j.last - (j.last > gone), next=j.next - (j.next > gone), turn=j.turn) for j in kept]
    return holds[:gone] + holds[gone + 1 :], shifted
