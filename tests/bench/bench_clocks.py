"""How far apart one instant is stamped on the two sensors of the independent golfer, by arrivals alone and as put in step.

    python -m tests.bench.bench_clocks [PRACTICES] [--minutes M] [--seed FIRST]

The generator knows both clocks; least delays differ by up to 3 ms, which arrivals cannot show. A report, never a pass or fail.
"""

from __future__ import annotations

import tempfile
from functools import partial
from pathlib import Path

import numpy as np

from tests.bench.practices import of_each, practice_words
from tests.truth.physics.clocks import Apart, apart
from tests.truth.physics.dataset import make
from tests.truth.physics.product import run_import

MADE_S = 120.0
"""The moves of a fit are made by then."""


def one(seed: int, minutes: float) -> list[Apart]:
    """Make a practice, import it, and look once a minute."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        make(seed, folder, minutes)
        run_import(folder)
        return [told for told in apart(folder, 60.0) if told.at_s > MADE_S]


def main() -> None:
    asked = practice_words(__doc__, practices=8, minutes=10.0, seed=500).parse_args()
    practices = of_each(partial(one, minutes=asked.minutes), asked)
    last_s = max(told.at_s for practice in practices for told in practice)
    print("| minutes | by arrivals: RMS, worst | in step: RMS, worst, ms |")
    print("| --- | --- | --- |")
    for begin_s in np.arange(MADE_S, last_s, 300.0):
        here = [told for practice in practices for told in practice if begin_s <= told.at_s < begin_s + 300.0]
        columns = [np.array([told.arrivals_ms for told in here]), np.array([told.stamped_ms for told in here])]
        cells = [f"{np.sqrt(np.mean(column**2)):.2f}, {np.abs(column).max():.2f}" for column in columns]
        print(f"| {begin_s / 60.0:.0f} to {begin_s / 60.0 + 5.0:.0f} | {cells[0]} | {cells[1]} |")


if __name__ == "__main__":
    main()
