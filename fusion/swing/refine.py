"""The record's view of a swing: every mark dated again from samples on both sides, every value read there by a local fit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fusion.measure import Instant
from fusion.outputs.instant import Angles, Phase
from fusion.swing import dating

_NAMES: Final = Angles._fields
_PITCH: Final = _NAMES.index("shaft_pitch_rad")


@dataclass(frozen=True, slots=True)
class Refined:
    """A swing's dates, session seconds."""

    takeaway_s: float
    marks: Mapping[Phase, float]


def refine(instants: Sequence[Instant], takeaway_s: float, marks: Mapping[Phase, float]) -> Refined:
    """Date a swing's marks anew, near their live dates; `instants` reach from before the takeaway to past impact."""
    times = np.array([i.t_s for i in instants])
    shaft = np.array([i.angles.shaft_elevation_rad or 0.0 for i in instants])
    arm = np.array([i.angles.arm_elevation_rad or 0.0 for i in instants])
    dated: dict[Phase, float] = {}
    for phase, at_s in marks.items():
        match phase:
            case Phase.SHAFT_LEVEL:
                dated[phase] = dating.crossing(times, shaft, at_s)
            case Phase.ARM_LEVEL:
                dated[phase] = dating.crossing(times, arm, at_s)
            case Phase.TOP:
                dated[phase] = dating.vertex(times, arm, at_s)
            case Phase.IMPACT:
                dated[phase] = dating.nearest(times, np.array([i.shaft_off_rad for i in instants]), at_s)
            case _:
                dated[phase] = at_s
    first_mark_s = min(dated.values(), default=takeaway_s)
    back = times < first_mark_s
    turn = np.array([i.club_turn_rad for i in instants])
    onset_s = dating.onset(times[back], turn[back]) if back.any() else takeaway_s
    return Refined(onset_s, dated)


def angles_at(instants: Sequence[Instant], at_s: float) -> Angles:
    """All quantities at an instant, by a local parabola; None where one of the samples about it lacks the quantity."""
    values = dating.values_at(*_about(instants, at_s), at_s)
    values[_PITCH] = np.mod(values[_PITCH], np.pi)
    return _angles(values)


def rates_at(instants: Sequence[Instant], at_s: float) -> Angles:
    """How fast all quantities change there, a second, by the same parabola; None as for the values."""
    return _angles(dating.rates_at(*_about(instants, at_s), at_s))


def _about(instants: Sequence[Instant], at_s: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Times, and a row of quantities for each, of the instants about one."""
    times = np.array([i.t_s for i in instants])
    part = dating.near(times, at_s)
    table = np.array([[_or_nan(getattr(i.angles, name)) for name in _NAMES] for i in instants[part]])
    _unwrap(table)
    return times[part], table


def _angles(values: NDArray[np.float64]) -> Angles:
    return Angles(**{n: None if np.isnan(v) else float(v) for n, v in zip(_NAMES, values, strict=True)})


def _unwrap(table: NDArray[np.float64]) -> None:
    """A line's angle jumps from pi to 0 as the shaft passes level; a fit across the jump needs it taken out. In place."""
    known = np.isfinite(table[:, _PITCH])
    table[known, _PITCH] = np.unwrap(table[known, _PITCH], period=np.pi)


def _or_nan(value: float | None) -> float:
    return float("nan") if value is None else value
