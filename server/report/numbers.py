"""The figures of a report: the middle value and the middle half of the reps, at each mark."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from fusion.outputs.instant import Phase
from fusion.outputs.rep import Rep, Verdict
from server.analysis.quantities import QUANTITIES, values_of
from server.report.gather import MARKS
from server.units import Units

_ROWS: Final = {
    "bend since address": "bend_change_deg",
    "hinge since address": "hinge_change_deg",
    "shaft pitch": "shaft_pitch_deg",
    "shaft elevation": "shaft_elevation_deg",
    "face twist since address": "face_twist_deg",
    "forearm roll since address": "forearm_roll_deg",
}
"""How each is called here, and in an analysis."""
NONE: Final = "–"
_AT_LEVEL: Final = ("shaft pitch", "shaft elevation")
"""Say nothing where the shaft lies level: the one has no plane to be seen in, the other is level by definition."""


def table(reps: Sequence[Rep], units: Units) -> list[list[str]]:
    """Rows of text: the quantity's name, then a cell for each of `MARKS`. The butt line is told where the arm is level only."""
    at_arm_level = _cell(reps, Phase.ARM_LEVEL, "butt_line_m", units.shown(1.0))
    butt = [f"butt line, {units.mark}", *(at_arm_level if phase is Phase.ARM_LEVEL else NONE for phase in MARKS)]
    return [*_angles(reps), butt]


def _angles(reps: Sequence[Rep]) -> list[list[str]]:
    return [
        [
            name,
            *(
                NONE if name in _AT_LEVEL and phase is Phase.SHAFT_LEVEL else _cell(reps, phase, quantity)
                for phase in MARKS
            ),
        ]
        for name, quantity in _ROWS.items()
    ]


def share(reps: Sequence[Rep], *, cued: bool) -> str:
    """How many of the judged reps stayed in the band, in words; those swung in a pause do not count."""
    judged = [rep for rep in reps if rep.cued is cued and not rep.paused and rep.verdict is not Verdict.UNKNOWN]
    n_in = sum(rep.verdict is Verdict.IN_BAND for rep in judged)
    how = "with the cue" if cued else "without the cue"
    return f"{n_in} of {len(judged)} in the band {how}" if judged else f"no rep judged {how}"


def _cell(reps: Sequence[Rep], phase: Phase, name: str, factor: float = 1.0) -> str:
    place = [quantity.name for quantity in QUANTITIES].index(name)
    passed = [rep.checkpoints[phase] for rep in reps if phase in rep.checkpoints]
    values = [factor * value for at in passed if (value := values_of(at.angles)[place]) is not None]
    if not values:
        return NONE
    low, middle, high = np.percentile(values, [25, 50, 75])
    spreads = [factor * sd for at in passed if (sd := values_of(at.spread)[place]) is not None]
    sure = f" ±{np.median(spreads):.1f}" if spreads else ""
    return f"{_told(middle, 1)} ({_told(low, 0)} to {_told(high, 0)}){sure}"


def _told(value: float, digits: int) -> str:
    return f"{round(float(value), digits) + 0.0:.{digits}f}".replace("-", "\N{MINUS SIGN}")
