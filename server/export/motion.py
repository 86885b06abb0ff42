"""One swing as motion at a constant rate: what the file formats of laboratories ask for."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation, Slerp

from fusion.outputs.instant import Moment, Phase, Pose
from fusion.outputs.rep import Rep
from fusion.rotation import angle, relative
from server.analysis.recent import KEPT_S, RecentMoments

Array = NDArray[np.float64]
BEFORE_S: Final = 0.5
"""How much of the address goes along, unless its zero was renewed later than this."""
RENEWED_RAD: Final = math.radians(0.5)
"""A body at address does not turn as far from one instant to the next; the zero being taken anew looks so."""
SEGMENTS: Final = ("forearm", "hand", "club")
_HOLE_STEPS: Final = 2.5
"""Instants further apart than so many steps have a hole between them, which nothing is put into."""
MARKS: Final = {
    Phase.SHAFT_LEVEL: "shaft level",
    Phase.ARM_LEVEL: "lead arm level",
    Phase.TOP: "top",
    Phase.IMPACT: "impact",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SwingMotion:
    """A swing from shortly before its takeaway to its finish. Earth and body axes: `fusion/pose.py`."""

    rep: Rep
    rate_hz: float
    t_s: Array
    """Session time of each frame, shape (n,)."""
    known: NDArray[np.bool_]
    """Frames whose poses are known, shape (n,)."""
    poses: dict[str, Rotation]
    """By segment, earth from segment, n of them; frames that are not known hold no meaning."""

    def marks(self) -> list[tuple[str, float]]:
        """Names and session times of the swing's marks, in order."""
        found = [
            (name, self.rep.checkpoints[phase].t_s) for phase, name in MARKS.items() if phase in self.rep.checkpoints
        ]
        finish = [] if self.rep.finish_s is None else [("finish", self.rep.finish_s)]
        return [("takeaway", self.rep.takeaway_s), *found, *finish]


class PosedMoments(RecentMoments):
    """Only those whose poses are known: the swing of a rep that never comes to its last form is kept until the next swing."""

    def add(self, moments: tuple[Moment, ...]) -> None:
        """Take in the instants that a packet completed."""
        super().add(tuple(moment for moment in moments if moment.pose is not None))


def swing_motion(rep: Rep, recent: RecentMoments) -> SwingMotion | None:
    """Cut out a rep's swing; None when too little of it is known."""
    end_s = rep.finish_s if rep.finish_s is not None else rep.takeaway_s + KEPT_S
    moments = recent.between(rep.takeaway_s - BEFORE_S, end_s)
    seen = [(moment.t_s, moment.pose) for moment in moments if moment.pose is not None]
    seen = seen[_last_renewal(seen, rep.takeaway_s) :]
    return _evenly(rep, np.array([t_s for t_s, _ in seen]), [pose for _, pose in seen])


def _last_renewal(seen: list[tuple[float, Pose]], takeaway_s: float) -> int:
    """Index from which on everything counts from the swing's own zero."""
    first = 0
    for i, ((_, before), (t_s, after)) in enumerate(pairwise(seen), start=1):
        if t_s > takeaway_s:
            break
        if angle(relative(before.q_earth_from_forearm, after.q_earth_from_forearm)) > RENEWED_RAD:
            first = i
    return first


def _evenly(rep: Rep, t_s: Array, poses: list[Pose]) -> SwingMotion | None:
    t_s, first = np.unique(t_s, return_index=True)
    if len(t_s) < 2:
        return None
    step_s = float(np.median(np.diff(t_s)))
    rate_hz = float(round(1.0 / step_s))
    frames_s = t_s[0] + np.arange(int((t_s[-1] - t_s[0]) * rate_hz + 1e-6) + 1) / rate_hz
    after = np.clip(np.searchsorted(t_s, frames_s), 1, len(t_s) - 1)
    known = t_s[after] - t_s[after - 1] <= _HOLE_STEPS * step_s
    by_segment = {
        name: Slerp(t_s, _rotations([poses[i] for i in first], name))(np.clip(frames_s, t_s[0], t_s[-1])) for name in SEGMENTS
    }  # fmt: skip
    return SwingMotion(rep=rep, rate_hz=rate_hz, t_s=frames_s, known=known, poses=by_segment)


def _rotations(poses: list[Pose], segment: str) -> Rotation:
    return Rotation.from_quat([getattr(pose, f"q_earth_from_{segment}") for pose in poses], scalar_first=True)
