"""What the product made of a simulated practice, against the truth: swings, dates, values and stated uncertainties.

A value is judged twice. *as read*: what the rep says at its own mark against the truth at the true mark, as a coach would
compare a readout with a still of the video. *same instant*: the series at the true date, so it is free of the mark's date
error but not of the delay of part and radio, which dates by arrival cannot shed.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pyarrow.parquet as pq
from numpy.typing import NDArray

MARKS = ("shaft_level", "lead_arm_level", "top", "impact")
DATES = ("takeaway", *MARKS)
QUANTITIES = (
    "bend_deg", "bend_change_deg", "hinge_deg", "hinge_change_deg", "forearm_roll_deg", "shaft_elevation_deg",
    "shaft_pitch_deg", "face_twist_deg", "butt_line_m",
)  # fmt: skip
POSED = {"bend, pose known": ("bend_deg", "neutral_bend_deg"), "hinge, pose known": ("hinge_deg", "neutral_hinge_deg")}
FLOORS = {
    "bend, sensors glued": ("floor_bend_change_deg", "bend_change_deg"),
    "hinge, sensors glued": ("floor_hinge_change_deg", "hinge_change_deg"),
}
NEAR_S = 0.5  # a rep whose top is this near to a true top is that swing


@dataclass(slots=True)
class Score:
    """One practice. Arrays have a row for each swing found and a column for each mark (or date); absent is NaN."""

    n_swings: int = 0
    n_missed: int = 0
    n_invented: int = 0  # reps where no full swing was, not flagged
    n_flagged: int = 0  # the same, flagged
    n_half_moves: int = 0
    minutes: NDArray[np.float64] = field(default_factory=lambda: np.zeros(0))  # of each swing found, from the start
    from_end: NDArray[np.float64] = field(default_factory=lambda: np.zeros(0))
    date_ms: NDArray[np.float64] = field(default_factory=lambda: np.zeros((0, len(DATES))))
    as_read: dict[str, NDArray[np.float64]] = field(default_factory=dict)
    sd: dict[str, NDArray[np.float64]] = field(default_factory=dict)
    same_instant: dict[str, NDArray[np.float64]] = field(default_factory=dict)
    coverage: dict[str, tuple[int, int, int]] = field(
        default_factory=dict
    )  # series in swings: n, within 1 sd, within 2


def score(folder: Path) -> Score:
    """Compare truth.npz with S.parquet and R.json."""
    with np.load(folder / "truth.npz") as file:
        truth = dict(file)
    reps = json.loads((folder / "R.json").read_text())
    table = pq.read_table(folder / "S.parquet")
    series = {
        name: table[name].to_numpy(zero_copy_only=False)
        for name in table.column_names
        if name not in ("phase", "quality")
    }
    series = {name: np.array(values, dtype=float) for name, values in series.items()}
    out = Score(n_swings=int(truth["swing_hit"].sum()), n_half_moves=len(truth["half_moves_s"]))
    found = _match(truth, reps, out)
    t, begin, end = truth["host_time_s"], truth["host_time_s"][0], truth["host_time_s"][-1]
    tops = np.array([truth["swing_top_s"][k] for k, _ in found])
    out.minutes, out.from_end = (tops - begin) / 60.0, (end - tops) / 60.0
    out.date_ms = np.array([
        [1e3 * (_number(rep.get(f"{d}_s")) - truth[f"swing_{d}_s"][k]) for d in DATES] for k, rep in found
    ]).reshape(-1, len(DATES))  # fmt: skip
    late_s = (
        1e-3 * float(np.nanmedian(out.date_ms[:, [DATES.index("shaft_level"), DATES.index("impact")]]))
        if found
        else 0.0
    )
    for name in QUANTITIES:
        true = np.array([[_at(truth[f"swing_{m}_s"][k], t, truth[name]) for m in MARKS] for k, _ in found]).reshape(
            -1, len(MARKS)
        )
        read = np.array([[_value(rep, m, name) for m in MARKS] for _, rep in found]).reshape(-1, len(MARKS))
        out.sd[name] = np.array([[_value(rep, m, f"{name}_sd") for m in MARKS] for _, rep in found]).reshape(
            -1, len(MARKS)
        )
        out.as_read[name] = difference(name, read, true)
        if name in series:
            here = [
                [_at(truth[f"swing_{m}_s"][k], series["host_time_s"], series[name]) for m in MARKS] for k, _ in found
            ]
            out.same_instant[name] = difference(name, np.array(here).reshape(-1, len(MARKS)), true)
            out.coverage[name] = _coverage(name, truth, series, [k for k, _ in found], late_s)
    for name, (floor, change) in FLOORS.items():
        out.as_read[name] = np.array([
            [_at(truth[f"swing_{m}_s"][k], t, truth[floor]) - _at(truth[f"swing_{m}_s"][k], t, truth[change]) for m in MARKS]
            for k, _ in found
        ]).reshape(-1, len(MARKS))  # fmt: skip
    for name, (angle, pose) in POSED.items():
        out.as_read[name] = out.as_read[angle] + float(truth[pose])
    return out


def difference(name: str, read: NDArray[np.float64], true: NDArray[np.float64]) -> NDArray[np.float64]:
    """Read minus true; the pitch is the angle of a line, so 179 and 1 are 2 apart."""
    off = read - true
    return (off + 90.0) % 180.0 - 90.0 if name == "shaft_pitch_deg" else off


def _match(truth, reps, out: Score) -> list[tuple[int, dict]]:
    """Pairs of (true swing, rep); counts what is left over on either side."""
    tops = truth["swing_top_s"]
    found: dict[int, dict] = {}
    for rep in reps:
        top_s = _number(rep.get("top_s"))
        k = int(np.argmin(np.abs(tops - top_s))) if np.isfinite(top_s) else -1
        if k >= 0 and abs(tops[k] - top_s) < NEAR_S and k not in found:
            found[k] = rep
        elif rep.get("flags"):
            out.n_flagged += 1
        else:
            out.n_invented += 1
    out.n_missed = sum(1 for k, hit in enumerate(truth["swing_hit"]) if hit and k not in found)
    return sorted((pair for pair in found.items() if truth["swing_hit"][pair[0]]), key=lambda pair: pair[0])


def _coverage(name, truth, series, swings, late_s: float) -> tuple[int, int, int]:
    """How often the truth lies within one and two stated standard deviations, from takeaway to impact.

    The series is first moved by the practice's own median date error: no uncertainty of an angle can hold the radio's delay.
    """
    sd = series.get(f"{name}_sd")
    if sd is None:
        return 0, 0, 0
    t = series["host_time_s"]
    n = one = two = 0
    for k in swings:
        here = (t >= truth["swing_takeaway_s"][k]) & (t <= truth["swing_impact_s"][k])
        true = np.interp(t[here] - late_s, truth["host_time_s"], truth[name])
        off = np.abs(difference(name, series[name][here], true))
        good = np.isfinite(off) & np.isfinite(sd[here])
        n += int(good.sum())
        one += int((off[good] < sd[here][good]).sum())
        two += int((off[good] < 2.0 * sd[here][good]).sum())
    return n, one, two


def _at(when_s: float, t_s: NDArray[np.float64], values: NDArray[np.float64]) -> float:
    """Between the two samples around; NaN where either is absent or the series does not reach."""
    if not np.isfinite(when_s):
        return float("nan")
    i = int(np.searchsorted(t_s, when_s))
    if not 0 < i < len(t_s) or t_s[i] - t_s[i - 1] > 0.1:
        return float("nan")
    share = (when_s - t_s[i - 1]) / (t_s[i] - t_s[i - 1])
    low, high = float(values[i - 1]), float(values[i])
    if abs(high - low) > 90.0:  # a line's angle on its way through 180
        return low if share < 0.5 else high
    return low + share * (high - low)


def _value(rep: dict, mark: str, name: str) -> float:
    return _number((rep["values"].get(mark) or {}).get(name))


def _number(value: float | None) -> float:
    return float("nan") if value is None else float(value)
