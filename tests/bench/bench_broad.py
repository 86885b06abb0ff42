"""Orientation on the open BROAD trials, as the first tables in docs/orientation.md.

    python -m tests.bench.bench_broad

Needs the data set beside the project (`tests/broad.py` says where). A report, never a pass or fail.
"""

from __future__ import annotations

from collections.abc import Callable

import ahrs
import numpy as np
from vqf import VQF

from tests.broad import Trial, heading_deg, inclination_deg, rms, trial, trial_names
from tests.orientations import idle_tilts, level_q, strapdown_runs


def _ahrs(trial: Trial) -> dict:
    q0 = np.array(level_q(trial.acc_m_s2[:100]))
    return {"gyr": trial.gyr_rad_s, "acc": trial.acc_m_s2, "q0": q0, "frequency": trial.rate_hz}


def _vqf(trial: Trial, **options: bool) -> np.ndarray:
    return VQF(1 / trial.rate_hz, **options).updateBatch(trial.gyr_rad_s, trial.acc_m_s2)["quat6D"]


FILTERS: dict[str, Callable[[Trial], np.ndarray]] = {
    "ours, between swings": lambda t: idle_tilts(t.rate_hz, t.gyr_rad_s, t.acc_m_s2),
    "VQF, defaults": _vqf,
    "VQF, no bias": lambda t: _vqf(t, motionBiasEstEnabled=False, restBiasEstEnabled=False),
    "Madgwick, gain 0.12": lambda t: ahrs.filters.Madgwick(**_ahrs(t), gain_imu=0.12).Q,
    "Mahony, 0.74 and 0.0012": lambda t: ahrs.filters.Mahony(**_ahrs(t), k_P=0.74, k_I=0.0012).Q,
}
WINDOWS_S = (1.0, 2.0, 5.0, 10.0)


def whole_trials(names: list[str]) -> None:
    short = [name.split("_B")[0].split("_A")[0].replace("undisturbed_", "").replace("_", " ") for name in names]
    print("| trial | " + " | ".join(FILTERS) + " |\n| --- |" + " --- |" * len(FILTERS))
    rows = [[rms(inclination_deg(f(t), t.q_true)[t.scored]) for f in FILTERS.values()] for t in map(trial, names)]
    for name, row in zip(short, rows, strict=True):
        print(f"| {name} | " + " | ".join(f"{value:.2f}" for value in row) + " |")
    undisturbed = [row for name, row in zip(names, rows, strict=True) if "undisturbed" in name]
    print("| mean of the undisturbed | " + " | ".join(f"{value:.2f}" for value in np.mean(undisturbed, axis=0)) + " |")


def windows(names: list[str]) -> None:
    runs = [run for name in names for run in strapdown_runs(trial(name), max(WINDOWS_S))]
    print("\n| after the rest | rests | inclination, mean | worst | heading turned, median | worst |")
    print("| --- | --- | --- | --- | --- | --- |")
    for end_s in WINDOWS_S:
        tilts, turns = [], []
        for t, first, q in runs:
            inside = slice(round((end_s - 0.5) * t.rate_hz), round(end_s * t.rate_hz))
            truth = t.q_true[first : first + len(q)]
            tilt, heading = inclination_deg(q, truth), heading_deg(q, truth)
            turn = np.mod(heading - heading[np.isfinite(heading)][0] + 180.0, 360.0) - 180.0
            if np.isfinite(tilt[inside]).any():
                tilts.append(rms(tilt[inside]))
                turns.append(rms(turn[inside]))
        print(
            f"| {end_s:.0f} s | {len(tilts)} | {np.mean(tilts):.2f} | {np.max(tilts):.2f} "
            f"| {np.median(turns):.2f} | {np.max(turns):.2f} |"
        )


def main() -> None:
    names = trial_names()
    if not names:
        print("no BROAD trials beside the project")
        return
    whole_trials([*names, *trial_names("disturbed")])
    windows(names)


if __name__ == "__main__":
    main()
