"""How well swing length, time back and tempo are known as a drill judges them: live, before the record refines the dates.

    python -m tests.bench.bench_lengths FOLDER

FOLDER is what `python -m tests.bench.bench_physics N --keep FOLDER` kept: practices simulated in a general physics
engine, the truth beside them. A report, never a pass or fail.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from fusion.outputs.instant import Doubt, Phase
from fusion.outputs.rep import Rep
from fusion.pipeline import Pipeline
from sensors.record.reader import read_events, read_head
from server.analysis.host_clock import HostClock
from server.drills import default_drill

NEAR_S = 0.5


def errors(folder: Path) -> list[dict[str, float]]:
    """Read minus true of each swing that was found and not doubted."""
    with np.load(folder / "truth.npz") as file:
        truth = dict(file)
    pipeline, reps, clock = Pipeline(default_drill()), [], HostClock(read_head(folder / "X.mcap").notes)
    rows = []
    for event in read_events(folder / "X.mcap"):
        clock.see(event.arrival_ns)
        reps += [output for output in pipeline.push(event) if isinstance(output, Rep)]
    for rep in reps:
        top_s = clock.host_s(rep.checkpoints[Phase.TOP].t_s)
        k = int(np.argmin(np.abs(truth["swing_top_s"] - top_s)))
        if abs(truth["swing_top_s"][k] - top_s) > NEAR_S or rep.doubt is not Doubt.NONE or not truth["swing_hit"][k]:
            continue
        back_s = truth["swing_top_s"][k] - truth["swing_takeaway_s"][k]
        down_s = truth["swing_impact_s"][k] - truth["swing_top_s"][k]
        rows.append({
            "arm_length, deg": np.degrees(rep.arm_length_rad) - truth["swing_arm_length_deg"][k],
            "shaft_length, deg": np.degrees(rep.shaft_length_rad) - truth["swing_shaft_length_deg"][k],
            "backswing_time, s": rep.backswing_s - back_s,
            "tempo": rep.tempo - back_s / down_s if rep.tempo else np.nan,
        })  # fmt: skip
    return rows


def main(folder: Path) -> None:
    practices = [errors(one) for one in sorted(folder.iterdir()) if (one / "truth.npz").exists()]
    practices = [rows for rows in practices if rows]
    print(f"{sum(map(len, practices))} swings of {len(practices)} practices")
    print("| quantity | RMSE | mean error | 95 % within | rep to rep |\n| --- | --- | --- | --- | --- |")
    for name in practices[0][0]:
        off_of_each = [np.array([row[name] for row in rows]) for rows in practices]
        off_of_each = [off[np.isfinite(off)] for off in off_of_each]
        off = np.concatenate(off_of_each)
        apart = np.concatenate([one - one.mean() for one in off_of_each if one.size])
        rmse, rep_to_rep = np.sqrt(np.mean(off**2)), np.sqrt(np.mean(apart**2))
        print(f"| {name} | {rmse:.3f} | {off.mean():.3f} | {np.quantile(np.abs(off), 0.95):.3f} | {rep_to_rep:.3f} |")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
