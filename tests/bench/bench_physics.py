"""Errors over practices simulated in a general physics engine, as tables.

    python -m tests.bench.bench_physics [PRACTICES] [--minutes M] [--seed FIRST] [--keep FOLDER] [--share WHAT=SIZE,...]

Each practice has its own player (every third left-handed), sensors, mounts, clocks, radio and missed poses, and goes
through `pitchbend import-imu` and `pitchbend analyse`. A report, never a pass or fail.
"""

from __future__ import annotations

import tempfile
from functools import partial
from pathlib import Path

from tests.bench.practices import of_each, practice_words
from tests.truth.physics.dataset import IMPERFECTIONS, make
from tests.truth.physics.product import ProductFailed, run_product
from tests.truth.physics.score import Score, score
from tests.truth.physics.tables import report


def one(seed: int, minutes: float, keep: Path | None, shares: dict[str, float]) -> Score | str:
    """Make a practice, run the product, judge; what the product said if it failed."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) if keep is None else keep / str(seed)
        if not (folder / "truth.npz").exists():
            make(seed, folder, minutes, shares=shares)
        try:
            run_product(folder)
        except ProductFailed as failure:
            return f"practice {seed}: {failure}"
        return score(folder)


def main() -> None:
    words = practice_words(__doc__, practices=4, minutes=30.0, seed=100)
    words.add_argument(
        "--share",
        default="",
        help="sizes other than 1, as skin=0.8,regrip=0: " + ", ".join(sorted(IMPERFECTIONS)),
    )
    words.add_argument("--keep", type=Path, help="keep the files here, and use again the practices that are there")
    asked = words.parse_args()
    pairs = [word.split("=") for word in filter(None, asked.share.split(","))]
    shares = {kind: float(size) for kind, size in pairs}
    outcomes = of_each(partial(one, minutes=asked.minutes, keep=asked.keep, shares=shares), asked)
    for outcome in outcomes:
        if isinstance(outcome, str):
            print(outcome)
    scores = [outcome for outcome in outcomes if isinstance(outcome, Score)]
    if scores:
        print(report(scores))


if __name__ == "__main__":
    main()
