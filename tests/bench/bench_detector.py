"""The swing detector on the motion model's true orientations: what is found, what is invented, when it is said, how it is dated.

    python -m tests.bench.bench_detector [SCENES]

Each scene: twelve swings of every kind among rehearsals, waggles and all that is done between swings, tremor included. No
sensors, no estimator. A report, never a pass or fail.

The top is the arm's highest point. Where that is flat, wrists and trunk go on for up to a tenth of a second, or all of them
wait: so the announcement is also counted from the instant at which the swing was commanded to turn round.
"""

from __future__ import annotations

import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from fusion.outputs.instant import Phase
from fusion.outputs.rep import PhaseChange, RepRefined
from tests.motion import watch
from tests.scenes import KINDS, act, true_marks

DATED = (Phase.TAKEAWAY, Phase.SHAFT_LEVEL, Phase.ARM_LEVEL, Phase.TOP, Phase.IMPACT)
GROUPS = (("usual", "quick", "pitch", "slow"), ("pause",), ("flat",))


def measure(seed: int):
    scene, plan, pastimes = act(seed)
    told = watch(scene)
    phases = [(t_s, o) for t_s, o in told.outputs if isinstance(o, PhaseChange)]
    refined = {o.rep.index: o.rep for o in told.of(RepRefined)}
    swings, used = [], set()
    for kind, shape, mark in plan:
        marks = true_marks(scene, shape, mark)
        row = {"kind": kind, "found": 0, "flags": (), "live": {}, "refined": {}}
        for rep in told.reps:
            if Phase.IMPACT in rep.checkpoints and abs(rep.checkpoints[Phase.IMPACT].t_s - marks[Phase.IMPACT]) < 0.1:
                row["found"] += 1
                row["flags"] = rep.flags
                used.add(rep.index)
                for name, one in (("live", rep), ("refined", refined[rep.index])):
                    row[name] = {
                        p: 1e3 * (one.checkpoints[p].t_s - at) for p, at in marks.items() if p in one.checkpoints
                    }
                    row[name][Phase.TAKEAWAY] = 1e3 * (one.takeaway_s - mark.start_s)
        said = {
            phase: [t_s for t_s, o in phases if o.phase is phase and mark.start_s < t_s < mark.impact_s]
            for phase in (Phase.TAKEAWAY, Phase.TOP)
        }
        row["n_tops"] = len(said[Phase.TOP])
        row["waited"] = 1e3 * (said[Phase.TOP][-1] - marks[Phase.TOP]) if said[Phase.TOP] else np.nan
        row["turned_round"] = 1e3 * (said[Phase.TOP][-1] - mark.top_s) if said[Phase.TOP] else np.nan
        row["takeaway_said"] = 1e3 * (said[Phase.TAKEAWAY][0] - mark.start_s) if said[Phase.TAKEAWAY] else np.nan
        swings.append(row)
    invented = [rep for rep in told.reps if rep.index not in used]
    others = [
        (
            past.name,
            sum(past.start_s < t_s <= past.end_s + 0.2 and o.phase is Phase.TAKEAWAY for t_s, o in phases),
            sum(past.start_s < t_s <= past.end_s + 0.2 and o.phase is Phase.TOP for t_s, o in phases),
            sum(past.start_s < cue.t_s <= past.end_s + 0.2 for cue in told.cues),
            sum(past.start_s < rep.takeaway_s <= past.end_s + 0.2 for rep in invented),
        )
        for past in pastimes
    ]
    return swings, others, len(invented)


def main(n_scenes: int) -> None:
    with ProcessPoolExecutor(2) as pool:
        results = list(pool.map(measure, range(1, n_scenes + 1)))
    swings = [row for result in results for row in result[0]]
    others = [row for result in results for row in result[1]]
    print(
        f"{len(swings)} swings, found {sum(r['found'] == 1 for r in swings)}, invented {sum(r[2] for r in results)}\n"
    )
    print(
        "| kind | n | found | half | tops | top announced after ms: median, 95 %, most | after the swing was to turn round "
        "| takeaway said after ms |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for kind in KINDS:
        rows = [r for r in swings if r["kind"] == kind]
        waited, after = (np.array([r[name] for r in rows]) for name in ("waited", "turned_round"))
        said = np.array([r["takeaway_said"] for r in rows])
        print(
            f"| {kind} | {len(rows)} | {sum(r['found'] for r in rows)} | {sum(len(r['flags']) for r in rows)} "
            f"| {np.mean([r['n_tops'] for r in rows]):.2f} "
            f"| {np.nanmedian(waited):.0f}, {np.nanpercentile(waited, 95):.0f}, {np.nanmax(waited):.0f} "
            f"| {np.nanmedian(after):.0f}, {np.nanpercentile(after, 95):.0f}, {np.nanmax(after):.0f} "
            f"| {np.nanmedian(said):.0f} |"
        )
    print("\n| mark | kinds | live ms: mean, RMS, 95 % | refined ms: mean, RMS, 95 % |\n| --- | --- | --- | --- |")
    for phase in DATED:
        for kinds in GROUPS:
            cells = []
            for name in ("live", "refined"):
                off = np.array([r[name][phase] for r in swings if r["kind"] in kinds and phase in r[name]])
                cells.append(f"{off.mean():.1f}, {np.sqrt((off**2).mean()):.1f}, {np.percentile(np.abs(off), 95):.1f}")
            print(f"| {phase.value} | {', '.join(kinds)} | {cells[0]} | {cells[1]} |")
    print("\n| between swings | n | takeaways | tops | cues | reps |\n| --- | --- | --- | --- | --- | --- |")
    totals, n = Counter(), Counter()
    for name, *counts in others:
        n[name] += 1
        for k, count in enumerate(counts):
            totals[name, k] += count
    for name in sorted(n):
        print(f"| {name} | {n[name]} | " + " | ".join(str(totals[name, k]) for k in range(4)) + " |")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 30)
