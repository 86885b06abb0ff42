"""Error of every quantity over many simulated practices, as the table in docs/accuracy.md.

    python -m tests.bench.bench_accuracy [PRACTICES]

Each practice: eight swings from sound to cupped, its own sensors, mounts, clocks, radio and missed poses; left- and
right-handed players by turns. A report, never a pass or fail.
"""

from __future__ import annotations

import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fusion.outputs.cue import CueChange
from fusion.outputs.fit import FitProgress, FitState
from fusion.outputs.instant import Doubt, Phase
from sensors.ids import Side
from tests.virtual import virtual_run

N_SWINGS = 8
QUANTITIES = (
    "bend_change", "bend", "hinge_change", "hinge", "roll_change", "shaft_elevation", "shaft_pitch", "face_twist",
)  # fmt: skip
MARKS = ((Phase.SHAFT_LEVEL, "shaft_level_s"), (Phase.ARM_LEVEL, "arm_level_s"), (Phase.TOP, "top_s"))
TIMED = (*MARKS, (Phase.IMPACT, "impact_s"))


@dataclass(frozen=True)
class Practice:
    """What one practice gave."""

    angles_deg: NDArray[np.float64]  # (judged reps, marks x quantities)
    times_ms: NDArray[np.float64]  # (found reps, timed marks)
    n_found: int
    n_reps: int
    n_false_cues: int
    n_rejected: int


def measure(seed: int) -> Practice:
    run = virtual_run(seed, N_SWINGS, Side.LEFT if seed % 2 else Side.RIGHT)
    angles, times = [], []
    for truth in run.truths:
        rep = next((r for r in run.reps if abs(r.checkpoints[Phase.TOP].t_s - truth.top_s) < 0.2), None)
        if rep is None:
            continue
        marks = rep.checkpoints
        times.append([1e3 * (marks[p].t_s - getattr(truth, at)) if p in marks else np.nan for p, at in TIMED])
        if rep.doubt is Doubt.NONE:
            row = []
            for phase, at in MARKS:
                for name in QUANTITIES:
                    value = getattr(marks[phase].angles, f"{name}_rad") if phase in marks else None
                    true = np.interp(getattr(truth, at), truth.t_s, truth.angles[f"{name}_deg"])
                    row.append(np.nan if value is None else np.degrees(value) - true)
            angles.append(row)
    spans = [(truth.address_s, truth.impact_s + 0.3) for truth in run.truths]
    cues = [output for output in run.outputs if isinstance(output, CueChange) and output.sounding]
    rejected = [o for o in run.outputs if isinstance(o, FitProgress) and o.state is FitState.REJECTED]
    return Practice(
        angles_deg=np.array(angles).reshape(-1, len(MARKS) * len(QUANTITIES)),
        times_ms=np.array(times),
        n_found=len(times),
        n_reps=len(run.reps),
        n_false_cues=sum(not any(a < cue.t_s < b for a, b in spans) for cue in cues),
        n_rejected=len(rejected),
    )


def main(n_practices: int) -> None:
    with ProcessPoolExecutor() as pool:
        practices = list(pool.map(measure, range(1000, 1000 + n_practices)))
    angles = np.concatenate([p.angles_deg for p in practices])
    times = np.concatenate([p.times_ms for p in practices])
    print(
        f"{n_practices} practices, {n_practices * N_SWINGS} swings: found {sum(p.n_found for p in practices)}, "
        f"invented {sum(p.n_reps - p.n_found for p in practices)}, without doubt {len(angles)}, "
        f"cues outside swings {sum(p.n_false_cues for p in practices)}, "
        f"fit moves rejected {sum(p.n_rejected for p in practices)}\n"
    )
    print("| mark | date error, RMS ms | 95 % within ms |\n| --- | --- | --- |")
    for i, (phase, _) in enumerate(TIMED):
        off = times[:, i][np.isfinite(times[:, i])]
        print(f"| {phase.value} | {np.sqrt(np.mean(off**2)):.1f} | {np.percentile(np.abs(off), 95):.1f} |")
    print("\n| quantity | mark | RMSE deg | 95 % within | rep to rep |\n| --- | --- | --- | --- | --- |")
    for k, name in enumerate(QUANTITIES):
        for i, (phase, _) in enumerate(MARKS):
            if (name, phase) == ("shaft_pitch", Phase.SHAFT_LEVEL):
                continue  # a level shaft has pitch 0 by definition
            column = i * len(QUANTITIES) + k
            off = angles[:, column]
            off = off[np.isfinite(off)]
            spread = [np.nanvar(p.angles_deg[:, column]) for p in practices if len(p.angles_deg) > 1]
            print(
                f"| {name} | {phase.value} | {np.sqrt(np.mean(off**2)):.2f} | {np.percentile(np.abs(off), 95):.2f} "
                f"| {np.sqrt(np.mean(spread)):.2f} |"
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 30)
