"""The figures of a report: the middle value and the middle half of the reps, at each mark."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final

import numpy as np

from fusion.outputs import Checkpoint, Phase, Rep, Verdict
from server.report.gather import MARKS

_ROWS: Final[dict[str, Callable[[Checkpoint], tuple[float | None, float | None]]]] = {
    "bend since address": lambda at: (at.angles.bend_change_rad, at.spread.bend_change_rad),
    "hinge since address": lambda at: (at.angles.hinge_change_rad, at.spread.hinge_change_rad),
    "shaft pitch": lambda at: (at.angles.shaft_pitch_rad, at.spread.shaft_pitch_rad),
    "shaft elevation": lambda at: (at.angles.shaft_elevation_rad, at.spread.shaft_elevation_rad),
    "face twist since address": lambda at: (at.angles.face_twist_rad, at.spread.face_twist_rad),
    "forearm roll since address": lambda at: (at.angles.roll_change_rad, at.spread.roll_change_rad),
}
NONE: Final = "–"
_AT_LEVEL: Final = ("shaft pitch", "shaft elevation")
"""Say nothing where the shaft lies level: the one has no plane to be seen in, the other is level by definition."""


def table(reps: Sequence[Rep]) -> list[list[str]]:
    """Rows of text: the quantity's name, then a cell for each of `MARKS`."""
    return [
        [
            name,
            *(
                NONE if name in _AT_LEVEL and phase is Phase.SHAFT_LEVEL else _cell(reps, phase, pick)
                for phase in MARKS
            ),
        ]
        for name, pick in _ROWS.items()
    ]


def share(reps: Sequence[Rep], *, cued: bool) -> str:
    """How many of the judged reps stayed in the band, in words; those swung in a pause do not count."""
    judged = [rep for rep in reps if rep.cued is cued and not rep.paused and rep.verdict is not Verdict.UNKNOWN]
    n_in = sum(rep.verdict is Verdict.IN_BAND for rep in judged)
    how = "with the cue" if cued else "without the cue"
    return f"{n_in} of {len(judged)} in the band {how}" if judged else f"no rep judged {how}"


def _cell(reps: Sequence[Rep], phase: Phase, pick: Callable[[Checkpoint], tuple[float | None, float | None]]) -> str:
    found = [pick(rep.checkpoints[phase]) for rep in reps if phase in rep.checkpoints]
    values = [math.degrees(value) for value, _ in found if value is not None]
    if not values:
        return NONE
    low, middle, high = np.percentile(values, [25, 50, 75])
    spreads = [math.degrees(sd) for _, sd in found if sd is not None]
    sure = f" ±{np.median(spreads):.1f}" if spreads else ""
    return f"{_told(middle, 1)} ({_told(low, 0)} to {_told(high, 0)}){sure}"


def _told(value: float, digits: int) -> str:
    return f"{round(float(value), digits) + 0.0:.{digits}f}".replace("-", "\N{MINUS SIGN}")
