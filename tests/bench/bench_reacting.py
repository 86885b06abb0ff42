"""A simulated student who reacts to the cue, and one who does not hear it, through the first drill's whole course.

    python -m tests.bench.bench_reacting [STUDENTS]

What the bookkeeping says of each block, over so many students. It checks the bookkeeping and says nothing of people: see
`tests/reacting.py`. A report, never a pass or fail.
"""

from __future__ import annotations

import math
import sys
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from fusion.outputs.rep import Rep, Verdict
from server.drills import our_drills
from tests.reacting import both

Row = tuple[bool, int, float, bool, float, bool]
"""Whether it heard, the block, degrees outside at worst, in the band, seconds outside, whether the cue was allowed."""


def measure(seed: int) -> list[Row]:
    drill = our_drills()[0].drill
    rows: list[Row] = []
    for hears, told in zip((True, False), both(drill, seed), strict=True):
        ends = np.cumsum([block.n_reps for block in drill.blocks])
        rows += [
            (hears, int(np.searchsorted(ends, nth, side="right")), outside_deg(rep), rep.verdict is Verdict.IN_BAND,
             rep.out_s, rep.cued)
            for nth, rep in enumerate(told.reps)
            if rep.worst is not None
        ]  # fmt: skip
    return rows


def outside_deg(rep: Rep) -> float:
    return math.degrees(abs(our_drills()[0].drill.outside(rep.worst or 0.0)))


def main(n_students: int) -> None:
    blocks = our_drills()[0].drill.blocks
    with ProcessPoolExecutor(2) as pool:
        rows = [row for rows in pool.map(measure, range(1, n_students + 1)) for row in rows]
    print(f"{n_students} students, each once hearing and once deaf, {our_drills()[0].drill.name}\n")
    print("| block | student | reps judged | in the band | outside at worst, deg: mean | outside, s: mean |")
    print("| --- | --- | --- | --- | --- | --- |")
    for nth, block in enumerate(blocks):
        for hears in (True, False):
            mine = [row for row in rows if row[0] is hears and row[1] == nth]
            share, who = 100 * np.mean([row[3] for row in mine]), "hears" if hears else "does not"
            print(
                f"| {block.n_reps} reps, cue {block.cue.value} | {who} | {len(mine)} | {share:.0f} % "
                f"| {np.mean([row[2] for row in mine]):.1f} | {np.mean([row[4] for row in mine]):.2f} |"
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10)
