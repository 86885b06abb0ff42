"""Makes the demo recording: `python -m sensors.virtual.demo FOLDER`.

A scenario of our own: Maren Tolk, an invented player, hits a dozen 7-iron shots on the invented range at Hollow Fen. She
begins with the fault (lead wrist cupped early, swing short) and finds her way out of it, not in a straight line.
Writes the raw packets as a recording, and beside it the true angles of every swing (CSV) and its marks (JSON).
"""

from __future__ import annotations

import csv
import json
import math
import sys
from pathlib import Path
from typing import Final

import numpy as np

from sensors.ids import Side
from sensors.record.writer import Recorder
from sensors.virtual.practice import make_practice
from sensors.virtual.session import Player, VirtualSession, draw_session
from sensors.virtual.swing import SwingShape
from sensors.virtual.truth import COLUMNS, SwingTruth

NAME: Final = "hollow-fen-evening"
SEED: Final = 2026
WALL_CLOCK_NS: Final = 1_780_333_200_000_000_000
"""1 June 2026, 17:00 UTC: the recording must not change from one making to the next."""
TRUTH_RATE_HZ: Final = 100.0
FAULTS: Final = (0.75, 0.80, 0.66, 0.72, 0.40, 0.58, 0.22, 0.35, 0.12, 0.46, 0.06, 0.0)
_NOTES: Final = {
    "provenance": "Simulated by sensors/virtual; no person, place or device in it is real.",
    "scenario": "Maren Tolk (invented), a dozen 7-iron swings, Hollow Fen practice ground (invented).",
    "made_with": f"python -m sensors.virtual.demo (seed {SEED})",
    "truth": f"{NAME}.truth.csv and {NAME}.truth.json beside this file",
    "licence": "MIT, as the rest of this project",
}


def demo_session() -> VirtualSession:
    """Lay out the practice and draw its sensors; the same every time."""
    rng = np.random.default_rng(SEED)
    shapes = [
        SwingShape(fault=fault, backswing_s=float(rng.normal(0.88, 0.03)), downswing_s=float(rng.normal(0.275, 0.008)))
        for fault in FAULTS
    ]
    practice = make_practice(shapes, rng, pose_error_deg=1.5, pose_s=1.6)
    return draw_session(practice, Player(name="Maren Tolk", lead_side=Side.LEFT, club="7-iron"), SEED)


def write_demo(folder: Path) -> None:
    """Write recording and truth; raises `RecorderError` or OSError."""
    session = demo_session()
    recording = folder / f"{NAME}.mcap"
    recording.unlink(missing_ok=True)
    with Recorder(recording, notes=_NOTES, wall_clock_ns=lambda: WALL_CLOCK_NS) as recorder:
        for event in session.events():
            recorder.write(event)
    truths = session.truths()
    _write_angles(folder / f"{NAME}.truth.csv", truths)
    _write_marks(folder / f"{NAME}.truth.json", truths)


def _write_angles(path: Path, truths: tuple[SwingTruth, ...]) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["swing", "t_s", *COLUMNS])
        for index, truth in enumerate(truths, start=1):
            stride = round((1.0 / TRUTH_RATE_HZ) / float(truth.t_s[1] - truth.t_s[0]))
            for i in range(0, len(truth.t_s), stride):
                values = [float(truth.angles[name][i]) for name in COLUMNS]
                row = ["" if math.isnan(value) else f"{value:.2f}" for value in values]
                writer.writerow([index, f"{truth.t_s[i]:.4f}", *row])


def _write_marks(path: Path, truths: tuple[SwingTruth, ...]) -> None:
    names = ("address_s", "shaft_level_s", "arm_level_s", "top_s", "impact_s")
    swings = [{name: round(getattr(truth, name), 4) for name in names} for truth in truths]
    about = "True times in seconds from the first event of the recording, measured on the motion model."
    path.write_text(json.dumps({"about": about, "seed": SEED, "swings": swings}, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    write_demo(Path(sys.argv[1] if len(sys.argv) > 1 else "recordings"))
