"""What a fit move that is not made costs: the table of docs/import-and-analysis.md.

    python -m tests.bench.bench_left_out [PRACTICES] [--minutes M] [--seed FIRST]

The same practices of the independent golfer, with some moves taken out of their marks. A report, never a pass or fail.
"""

from __future__ import annotations

import tempfile
from functools import partial
from pathlib import Path
from typing import Final

import numpy as np

from tests.bench.practices import of_each, practice_words
from tests.truth.physics.dataset import make, without_moves
from tests.truth.physics.product import ProductFailed, run_product
from tests.truth.physics.score import MARKS, Score, score

LEFT_OUT: Final = (
    (), ("still",), ("attitude",), ("still", "attitude"), ("neutral",), ("bend", "hinge"), ("roll",), ("twirl",), ("locked",),
    ("palm",), ("address",), ("locked", "palm", "twirl"),
)  # fmt: skip
QUANTITIES: Final = {
    "bend": ("bend_deg", "top"),
    "bend since address": ("bend_change_deg", "top"),
    "hinge since address": ("hinge_change_deg", "top"),
    "roll": ("forearm_roll_deg", "top"),
    "shaft elevation": ("shaft_elevation_deg", "top"),
    "shaft pitch": ("shaft_pitch_deg", "lead_arm_level"),
}


def one(seed: int, minutes: float) -> list[Score | None]:
    """A practice, judged once for each row of the table; None where there was no result."""
    with tempfile.TemporaryDirectory() as scratch:
        whole, folder = Path(scratch) / "whole", Path(scratch) / "run"
        make(seed, whole, minutes)
        scores: list[Score | None] = []
        for names in LEFT_OUT:
            without_moves(whole, folder, names)
            try:
                run_product(folder)
            except ProductFailed as failure:
                print(f"practice {seed} without {names}: {failure}")
                scores.append(None)
            else:
                scores.append(score(folder))
        return scores


def row(scores: list[Score]) -> list[str]:
    """Swings found, and of each quantity the RMSE and the share of errors within two stated standard deviations."""
    cells = [f"{sum(s.n_swings - s.n_missed for s in scores)} of {sum(s.n_swings for s in scores)}"]
    for name, mark in QUANTITIES.values():
        error, sd = (
            np.concatenate([values[name][:, MARKS.index(mark)] for values in kind])
            for kind in ([s.as_read for s in scores], [s.sd for s in scores])
        )
        known = np.isfinite(error)
        within = np.mean(np.abs(error[known]) < 2.0 * sd[known]) if known.any() else np.nan
        cells.append(f"{np.sqrt(np.mean(error[known] ** 2)):.1f} ({100 * within:.0f})" if known.any() else "absent")
    return cells


def main() -> None:
    asked = practice_words(__doc__, practices=4, minutes=10.0, seed=500).parse_args()
    practices = of_each(partial(one, minutes=asked.minutes), asked)
    print("| left out | swings | " + " | ".join(QUANTITIES) + " |")
    print("| --- |" + " --- |" * (1 + len(QUANTITIES)))
    for names, scores in zip(LEFT_OUT, zip(*practices, strict=True), strict=True):
        print(f"| {', '.join(names) or 'nothing'} | " + " | ".join(row([s for s in scores if s is not None])) + " |")


if __name__ == "__main__":
    main()
