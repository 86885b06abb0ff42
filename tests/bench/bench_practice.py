"""Swings found and invented in simulated half hours, from packets to reps: sensors, radio, fit and estimator included.

    python -m tests.bench.bench_practice [PRACTICES] [MINUTES]

Sixty swings of every kind a half hour, one in seven without a ball; between them all that golfers do, regrips for good
included. A report, never a pass or fail.
"""

from __future__ import annotations

import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace

import numpy as np

from fusion.outputs.cue import CueChange
from fusion.outputs.instant import Phase, Readout
from fusion.outputs.rep import Rep, RepFlag, RepRefined
from fusion.pipeline import Pipeline
from sensors.ids import Side
from sensors.virtual.practice import make_practice
from sensors.virtual.session import Player, draw_session
from server.drills import default_drill
from tests.scenes import KINDS, draw_shape

PERIOD_S = 30.0


def measure(seed: int, minutes: float):
    rng = np.random.default_rng(seed)
    n = round(60.0 * minutes / PERIOD_S)
    shapes = [draw_shape(str(kind), rng) for kind in rng.permutation(np.resize(KINDS, n))]
    shapes = [replace(shape, strikes=bool(rng.random() > 1 / 7)) for shape in shapes]
    practice = make_practice(shapes, rng, attitudes=6, spread_over_s=60.0 * minutes)
    side = Side.LEFT if seed % 2 else Side.RIGHT
    session = draw_session(practice, Player(name="Test Player", lead_side=side, club="7-iron"), seed)
    pipeline = Pipeline(default_drill())
    said = [o for event in session.events() for o in pipeline.push(event) if not isinstance(o, Readout)]
    reps = [o for o in said if isinstance(o, Rep)]
    refined = {o.rep.index: o.rep for o in said if isinstance(o, RepRefined)}
    found, used, flags, off = 0, set(), Counter(), []
    for shape, truth in zip(shapes, session.truths(), strict=True):
        near = [
            rep for rep in reps
            if Phase.IMPACT in rep.checkpoints and abs(rep.checkpoints[Phase.IMPACT].t_s - truth.impact_s) < 0.15
        ]  # fmt: skip
        found += len(near) == 1
        used |= {rep.index for rep in near}
        for rep in near:
            no_strike = RepFlag.NO_STRIKE in rep.flags
            flags["no strike, rightly" if not shape.strikes else "no strike, wrongly"] += no_strike
            flags["no strike, overlooked"] += not shape.strikes and not no_strike
            flags["half swing wrong"] += (RepFlag.HALF_SWING in rep.flags) != (shape.reach < 1.0)
            if not shape.pause_s and not shape.flat:
                tops = [one.checkpoints[Phase.TOP].t_s - truth.top_s for one in (rep, refined[rep.index])]
                off.append([1e3 * top for top in tops])
    spans = [(mark.start_s - 0.1, mark.impact_s) for mark in practice.swings]
    cues = Counter(
        next((past.name for past in practice.pastimes if past.start_s <= cue.t_s <= past.end_s + 0.2), "elsewhere")
        for cue in said
        if isinstance(cue, CueChange) and cue.sounding and not any(a < cue.t_s < b for a, b in spans)
    )
    return n, found, len(reps) - len(used), flags, np.array(off), cues


def main(n_practices: int, minutes: float) -> None:
    with ProcessPoolExecutor(2) as pool:
        results = list(pool.map(measure, range(1, n_practices + 1), [minutes] * n_practices))
    off = np.concatenate([result[4] for result in results])
    print(f"{n_practices} practices of {minutes:g} minutes, {sum(r[0] for r in results)} swings")
    print(f"found {sum(r[1] for r in results)}, invented {sum(r[2] for r in results)}")
    print("flags:", dict(sum((r[3] for r in results), Counter())))
    rms, most = np.sqrt((off**2).mean(axis=0)), np.abs(off).max(axis=0)
    print(f"top, ms RMS and most: live {rms[0]:.1f}, {most[0]:.1f}; refined {rms[1]:.1f}, {most[1]:.1f}")
    print("cues outside swings:", dict(sum((r[5] for r in results), Counter())))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 4, float(sys.argv[2]) if len(sys.argv) > 2 else 30.0)
