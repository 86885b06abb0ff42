"""What a fit move that is not made costs: the table of docs/import-and-analysis.md.

    python -m tests.bench.bench_left_out [PRACTICES] [--minutes M] [--seed FIRST]

The same practices of the independent golfer, with some moves taken out of their marks. A report, never a pass or fail.
"""

from __future__ import annotations

import argparse
import json
import shutil
import tempfile
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import Final

import numpy as np

from tests.truth.physics.dataset import make
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
        folder.mkdir()
        for name in ("F.csv", "C.csv", "truth.npz"):
            shutil.copy(whole / name, folder)
        marks = json.loads((whole / "M.json").read_text())
        scores: list[Score | None] = []
        for names in LEFT_OUT:
            kept = [move for move in marks["moves"] if move["name"] not in names]
            (folder / "M.json").write_text(json.dumps(marks | {"moves": kept}))
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
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("practices", type=int, nargs="?", default=4)
    words.add_argument("--minutes", type=float, default=10.0)
    words.add_argument("--seed", type=int, default=500, help="of the first practice")
    asked = words.parse_args()
    seeds = range(asked.seed, asked.seed + asked.practices)
    with ProcessPoolExecutor(max_workers=2) as pool:
        practices = list(pool.map(partial(one, minutes=asked.minutes), seeds))
    print("| left out | swings | " + " | ".join(QUANTITIES) + " |")
    print("| --- |" + " --- |" * (1 + len(QUANTITIES)))
    for names, scores in zip(LEFT_OUT, zip(*practices, strict=True), strict=True):
        print(f"| {', '.join(names) or 'nothing'} | " + " | ".join(row([s for s in scores if s is not None])) + " |")


if __name__ == "__main__":
    main()
