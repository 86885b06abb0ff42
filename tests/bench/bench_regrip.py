"""How often a club that was let go is told, and how often one that was not: both golfers, gap by gap between reps.

    python -m tests.bench.bench_regrip [PRACTICES] [--minutes M] [--seed FIRST] [--keep FOLDER]

The independent golfer lays the club aside or drops it and takes it up turned by 2 degrees; the built-in one drops it, or opens
the hand and turns it by 20 (standard deviation) to and fro. Both regrip by about 2 degrees before every swing, not
counted. A step is the club turned in the hand for good, in the middle of the practice. A report, never a pass or fail.
"""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter
from collections.abc import Iterable
from itertools import pairwise
from pathlib import Path
from typing import Final

import numpy as np

from fusion.outputs.rep import Rep, RepFlag
from fusion.pipeline import Pipeline
from sensors.events import SourceEvent
from sensors.ids import Role, Side
from sensors.record.reader import read_events
from sensors.virtual.practice import make_practice
from sensors.virtual.session import Player, VirtualSession, draw_session
from sensors.virtual.swing import SwingShape
from server.drills import default_drill
from tests.truth.physics.dataset import make
from tests.truth.physics.product import run_import
from tests.turning import rolled, turned_events

LET_GO: Final = ("drop", "regrip")
STEPS_DEG: Final = (8.0, 15.0, 25.0)


def reps_of(events: Iterable[SourceEvent]) -> list[Rep]:
    pipeline = Pipeline(default_drill())
    return [out for event in events for out in pipeline.push(event) if isinstance(out, Rep)]


def count(what: Counter[str], kind: str, rep: Rep) -> None:
    what[kind] += 1
    what[f"{kind}, told"] += RepFlag.REGRIPPED in rep.flags


def independent(folder: Path, what: Counter[str]) -> None:
    """One practice: what came between each rep and the one before it."""
    with np.load(folder / "truth.npz") as file:
        in_hand, tops_s = file["in_hand"], file["swing_top_s"]
    reps = reps_of(read_events(folder / "X.mcap"))
    if not reps:
        return
    # Both count from somewhere: the one shift that lays most tops on tops.
    mine = np.array([rep.address_s for rep in reps])
    shifts = (tops_s[:, None] - mine[None, :]).ravel()
    near = [np.sum(np.abs(tops_s[:, None] - mine[None, :] - shift).min(axis=0) < 1.0) for shift in shifts]
    shift_s = float(shifts[int(np.argmax(near))])
    aside_s = in_hand[in_hand[:, 1] == 0.0, 0]
    for before, rep in pairwise(reps):
        since, until = before.address_s + shift_s, rep.address_s + shift_s
        count(what, "laid aside" if np.any((aside_s > since) & (aside_s < until)) else "held", rep)


def built_in_session(seed: int, minutes: float, n_swings: int) -> VirtualSession:
    rng = np.random.default_rng(seed)
    shapes = [SwingShape(fault=float(rng.uniform(0.0, 0.8))) for _ in range(n_swings)]
    practice = make_practice(shapes, rng, spread_over_s=60.0 * minutes)
    who = Player(name="A", lead_side=Side.RIGHT if seed % 2 else Side.LEFT, club="7-iron")
    return draw_session(practice, who, seed)


def built_in(seed: int, minutes: float, what: Counter[str]) -> None:
    session = built_in_session(seed, minutes, round(1.5 * minutes))
    reps = reps_of(session.events())
    for before, rep in pairwise(reps):
        done = {one.name for one in session.practice.pastimes if before.address_s < one.start_s < rep.address_s}
        count(what, next((name for name in LET_GO if name in done), "held"), rep)


def steps(seed: int, what: Counter[str]) -> None:
    """Ten swings one after the other, the club turned in the hand for good after the sixth."""
    rng = np.random.default_rng(seed)
    shapes = [SwingShape(fault=float(rng.uniform(0.0, 0.8))) for _ in range(10)]
    who = Player(name="A", lead_side=Side.RIGHT if seed % 2 else Side.LEFT, club="7-iron")
    session = draw_session(make_practice(shapes, rng), who, seed)
    at_s = session.practice.swings[5].impact_s + 2.5
    for degrees in STEPS_DEG:
        reps = reps_of(turned_events(session, Role.CLUB, rolled(degrees), at_s))
        fresh = [rep for rep in reps if rep.address_s > at_s - 1.5]
        if fresh:
            count(what, f"turned {degrees:.0f} deg, first rep after", fresh[0])


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("practices", type=int, nargs="?", default=4)
    words.add_argument("--minutes", type=float, default=10.0)
    words.add_argument("--seed", type=int, default=720)
    words.add_argument(
        "--keep", type=Path, help="keep the independent practices here, and use again those that are there"
    )
    asked = words.parse_args()
    theirs: Counter[str] = Counter()
    ours: Counter[str] = Counter()
    for seed in range(asked.seed, asked.seed + asked.practices):
        with tempfile.TemporaryDirectory() as scratch:
            folder = Path(scratch) if asked.keep is None else asked.keep / str(seed)
            if not (folder / "X.mcap").exists():
                make(seed, folder, asked.minutes, lays_aside=0.3)
                run_import(folder)
            independent(folder, theirs)
        built_in(seed, asked.minutes, ours)
        steps(seed, ours)
    for name, what in (("independent", theirs), ("built-in", ours)):
        for kind in sorted(kind for kind in what if not kind.endswith(", told")):
            print(f"{name:12s} {kind:32s} told {what[kind + ', told']:3d} of {what[kind]}")


if __name__ == "__main__":
    main()
