"""What beginning the cue early gains, and how often it cries wolf, over simulated practices.

    python -m tests.bench.bench_look_ahead [PRACTICES]

Each practice: eight swings from sound to cupped with every sensor fault, left- and right-handed by turns, each judged by every
drill that comes with the program in whose band it begins. A cue in a rep that never leaves the band is a false one. A report,
never a pass or fail.
"""

from __future__ import annotations

import math
import sys
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from fusion.drills.desk import Desk
from fusion.drills.drill import Drill
from fusion.drills.monitor import DrillMonitor, Edge, Monitor, Sound
from fusion.drills.swing_log import SwingLog
from fusion.outputs.instant import Angles, Doubt, Phase
from fusion.outputs.rep import Verdict
from fusion.pipeline import Pipeline
from sensors.ids import Side
from server.drills import our_drills
from tests.virtual import virtual_session

LEADS_MS = (0, 30, 60, 100, 150, 200)
N_SWINGS = 8
Pushed = tuple[float, Phase, Angles, Doubt]


class Listener(DrillMonitor):
    """Keeps what a swing's monitor was told."""

    def __init__(self, drill: Drill) -> None:
        super().__init__(drill)
        self.told: list[Pushed] = []

    def push(self, t_s: float, phase: Phase, angles: Angles, doubt: Doubt) -> tuple[Sound, ...]:
        self.told.append((t_s, phase, angles, doubt))
        return super().push(t_s, phase, angles, doubt)


class ListeningDesk(Desk):
    """Keeps the monitors of the swings that became reps."""

    def __init__(self, drill: Drill) -> None:
        super().__init__(drill)
        self.reps: list[list[Pushed]] = []

    def monitor(self) -> DrillMonitor:
        return Listener(self.drill)

    def count(self, monitor: Monitor, verdict: Verdict, log: SwingLog) -> None:
        del log
        if isinstance(monitor, Listener) and verdict is not Verdict.UNKNOWN:
            self.reps.append(monitor.told)


def swings(seed: int) -> list[list[Pushed]]:
    pipeline = Pipeline(our_drills()[0].drill)
    pipeline._desk = desk = ListeningDesk(our_drills()[0].drill)
    for event in virtual_session(seed, N_SWINGS, Side.LEFT if seed % 2 else Side.RIGHT).events():
        pipeline.push(event)
    return desk.reps


def first_cue(told: list[Pushed], drill: Drill, lead_s: float) -> tuple[float | None, bool]:
    """When the swing's first cue began, and whether the band was left at all."""
    monitor = DrillMonitor(drill, lead_s=lead_s)
    began = None
    for one in told:
        for edge in monitor.push(*one):
            if isinstance(edge, Edge) and edge.sounding and began is None:
                began = edge.t_s
    return began, monitor.out_s > 0


def begins_inside(told: list[Pushed], drill: Drill) -> bool:
    """Whether the quantity is in the band when the drill's phases begin."""
    values = (drill.quantity.of(angles) for _, phase, angles, _ in told if phase in drill.phases)
    first = next((value for value in values if value is not None), None)
    return first is not None and drill.low <= first <= drill.high


def measure(seed: int) -> list[tuple[int, float, bool, bool]]:
    """Lead, gain in ms (NaN without one), whether cued, whether the band was left; a row for each drill, rep and lead."""
    rows = []
    for told in swings(seed):
        for one in our_drills():
            if one.drill.quantity.at_end or not begins_inside(told, one.drill):
                continue  # nothing to see coming
            plain, _ = first_cue(told, one.drill, 0.0)
            for lead_ms in LEADS_MS:
                first, left = first_cue(told, one.drill, lead_ms / 1e3)
                gain = 1e3 * (plain - first) if first is not None and plain is not None else math.nan
                rows.append((lead_ms, gain, first is not None, left))
    return rows


def main(n_practices: int) -> None:
    with ProcessPoolExecutor(2) as pool:
        rows = [row for rows in pool.map(measure, range(1, n_practices + 1)) for row in rows]
    print(
        "| early by, ms | reps that left the band | cued | earlier, ms: median, least | reps that did not | cued all the same |"
    )
    print("| --- | --- | --- | --- | --- | --- |")
    for lead_ms in LEADS_MS:
        mine = [row for row in rows if row[0] == lead_ms]
        left, inside = [row for row in mine if row[3]], [row for row in mine if not row[3]]
        gains = np.array([row[1] for row in left])
        print(
            f"| {lead_ms} | {len(left)} | {sum(row[2] for row in left)} "
            f"| {np.nanmedian(gains):.0f}, {np.nanmin(gains):.0f} | {len(inside)} | {sum(row[2] for row in inside)} |"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
