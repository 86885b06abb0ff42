"""Bend and shaft elevation at the top of the backswing by our scheme and by others', as the table in docs/orientation.md.

    python -m tests.bench.bench_filters [PRACTICES] [SWINGS] [ERROR...]
    python -m tests.bench.bench_filters physics [PRACTICES] [MINUTES]

Simulated half-hour practices (`tests/bench/half_hour.py`), or those of the independent golfer with its own calibration and fit.
All are given the same mounts and the rests over the ball that the pipeline found; what differs is how angular rate and specific
force become orientation, and where the heading between the sensors comes from: `once`, found at the first address and kept;
`each`, found anew at every address. A report, never a pass or fail.
"""

from __future__ import annotations

import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np
from scipy.spatial.transform import Rotation, Slerp

from fusion.calibration.fit import N_CONSTANTS, BodyFit
from fusion.joints.heading import relative_heading
from fusion.joints.wrist import anatomical_angles
from fusion.orientation.bias import BODY_REST_RAD_S, TABLE_REST_RAD_S, BiasFilter
from fusion.orientation.rest import ADDRESS_REST_S, rest_of
from fusion.orientation.window import Window
from fusion.outputs.instant import Phase
from fusion.outputs.rep import Rep
from fusion.pipeline import Pipeline
from fusion.rotation import IDENTITY, Quat, about_z, inverse, mul, rotate, shortest
from fusion.shaft.pitch import elevation
from sensors.ids import Role
from sensors.virtual.truth import SwingTruth
from server.drills import default_drill
from tests.bench.filters import FILTERS, filled
from tests.bench.half_hour import STILL_S, HalfHour, Stream, half_hour
from tests.bench.physics_practice import physics_practice
from tests.orientations import strapdown

EDGE_S = 300.0
NEAR_S = 0.3
OURS = "ours: the whole pipeline"
BIASES = (
    "strapdown, Kalman bias",
    "strapdown, bias of the table only",
    "strapdown, each rest's mean rate as bias",
)

Level = dict[Role, tuple[Quat, Quat]]
"""By role: orientation at the address and at the top, in one earth with z up and a heading of its own."""


@dataclass(frozen=True)
class Score:
    """One swing by one scheme, degrees: estimate less truth."""

    bend: float
    bend_change: float
    elevation: float
    at_s: float


Swing = tuple[SwingTruth, float, Score]
"""A swing that was found: the truth, the middle of the rest over the ball that it was counted from, and our score."""


def measure(arguments: tuple[int, int, float]) -> tuple[dict[str, list[Score]], float]:
    return compare(half_hour(*arguments))


def measure_physics(arguments: tuple[int, float]) -> tuple[dict[str, list[Score]], float]:
    return compare(physics_practice(*arguments))


def compare(practice: HalfHour) -> tuple[dict[str, list[Score]], float]:
    swings = _pipeline(practice)
    out = {f"{OURS} | each": [ours for _, _, ours in swings]}
    for name in BIASES:
        runs = {role: _strapdown(stream, swings, BIASES.index(name)) for role, stream in practice.streams.items()}
        levels = [{role: run[i] for role, run in runs.items()} for i in range(len(swings))]
        out[f"{name} | each"] = _scores(practice, swings, levels, once=False)
    for name, run in FILTERS.items():
        turns = {}
        for role, stream in practice.streams.items():
            rate_hz, even = filled(stream)
            turns[role] = _slerp(even.t_s, run(rate_hz, even.gyr_rad_s, even.acc_m_s2))
        levels = [
            {role: (_at(turn, address_s), _at(turn, truth.top_s)) for role, turn in turns.items()}
            for truth, address_s, _ in swings
        ]
        out[f"{name} | once"] = _scores(practice, swings, levels, once=True)
        out[f"{name} | each"] = _scores(practice, swings, levels, once=False)
    return out, practice.marks[-1].impact_s


def _pipeline(practice: HalfHour) -> list[Swing]:
    """From packets to reps: it finds the addresses by itself. Only the fit is not its own."""
    pipeline = Pipeline(default_drill())
    if not practice.fitted_by_moves:
        pipeline._fit.fit = _true_fit(practice)
    reps = {out.index: out for event in practice.events for out in pipeline.push(event) if isinstance(out, Rep)}
    swings = []
    for truth in practice.truths:
        for rep in reps.values():
            top = rep.checkpoints.get(Phase.TOP)
            if top is None or abs(top.t_s - truth.top_s) > NEAR_S or top.angles.bend_rad is None:
                continue
            angles = top.angles
            ours = _score(truth, angles.bend_rad, angles.bend_change_rad, angles.shaft_elevation_rad)
            swings.append((truth, rep.address_s, ours))
            break
    return swings


def _true_fit(practice: HalfHour) -> BodyFit:
    return BodyFit(
        side=practice.side, q_sensor_from_forearm=practice.q_sensor_from_forearm,
        q_sensor_from_hand=practice.q_sensor_from_hand, shaft_sensor=tuple(practice.shaft_sensor.tolist()), skin_lag=0.0,
        covariance=tuple(map(tuple, (np.eye(N_CONSTANTS) * np.radians(0.3) ** 2).tolist())),
    )  # fmt: skip


def _score(truth, bend_rad: float, bend_change_rad: float, elevation_rad: float) -> Score:
    true_bend = _true(truth, "bend_deg", truth.top_s)
    return Score(
        bend=float(np.degrees(bend_rad)) - true_bend,
        bend_change=float(np.degrees(bend_change_rad)) - true_bend + _true(truth, "bend_deg", truth.address_s),
        elevation=float(np.degrees(elevation_rad)) - _true(truth, "shaft_elevation_deg", truth.top_s),
        at_s=truth.top_s,
    )


def _strapdown(stream: Stream, swings: list[Swing], kind: int) -> list[tuple[Quat, Quat]]:
    """Address by address: level by the rest's mean force, then nothing but angular rate."""
    filtered = BiasFilter()
    lying = rest_of(_window(stream, slice(*np.searchsorted(stream.t_s, [0.5, STILL_S - 0.5])), IDENTITY, np.zeros(3)))
    filtered.rest(lying.end_s, lying.mean_rate_rad_s, TABLE_REST_RAD_S)
    bias = filtered.bias_rad_s
    out = []
    for truth, address_s, _ in swings:
        end_s = address_s + ADDRESS_REST_S / 2
        first, last, end = np.searchsorted(stream.t_s, [end_s - ADDRESS_REST_S, end_s, truth.top_s + 0.1])
        window = _window(stream, slice(first, last), IDENTITY, bias)
        rest = rest_of(window)
        if kind == 0:
            filtered.rest(rest.end_s, rest.mean_rate_rad_s, BODY_REST_RAD_S)
            bias = filtered.bias_rad_s
        elif kind == 2:
            bias = rest.mean_rate_rad_s
        swing = _window(stream, slice(last - 1, end), tuple(window.q_free_from_sensor[-1].tolist()), bias)
        level = Rotation.from_quat(shortest(rest.up_free, (0.0, 0.0, 1.0)), scalar_first=True)
        q = np.concatenate([window.q_free_from_sensor, swing.q_free_from_sensor[1:]])
        turn = _slerp(np.concatenate([window.t_s, swing.t_s[1:]]), (level * Rotation.from_quat(q, scalar_first=True)))
        out.append((_at(turn, address_s), _at(turn, truth.top_s)))
    return out


def _window(stream: Stream, rows: slice, start: Quat, bias_rad_s: np.ndarray) -> Window:
    device_s, gyr = stream.device_s[rows], stream.gyr_rad_s[rows]
    q = strapdown(device_s, gyr - bias_rad_s, start, float(np.median(np.diff(device_s))))
    return Window(
        t_s=stream.t_s[rows],
        device_s=device_s,
        gyr_rad_s=gyr,
        acc_m_s2=stream.acc_m_s2[rows],
        q_free_from_sensor=q,
        turn_rad=np.zeros_like(gyr),
    )


def _slerp(t_s: np.ndarray, q: np.ndarray | Rotation) -> Slerp:
    return Slerp(t_s, q if isinstance(q, Rotation) else Rotation.from_quat(q, scalar_first=True))


def _at(turn: Slerp, t_s: float) -> Quat:
    w, x, y, z = turn(t_s).as_quat(scalar_first=True).tolist()
    return (w, x, y, z)


def _scores(practice: HalfHour, swings: list[Swing], levels: list[Level], *, once: bool) -> list[Score]:
    out, heading = [], None
    for (truth, _, _), level in zip(swings, levels, strict=True):
        (forearm, club), (forearm_top, club_top) = (
            (level[Role.FOREARM][i], level[Role.CLUB][i]) for i in (0, 1)
        )  # fmt: skip
        if heading is None or not once:
            found = relative_heading(
                mul(forearm, practice.q_sensor_from_forearm), mul(club, practice.q_sensor_from_hand), practice.side
            )
            heading = found if found is not None else heading
        assert heading is not None
        at_address = _bend_rad(practice, forearm, club, heading)
        at_top = _bend_rad(practice, forearm_top, club_top, heading)
        shaft = rotate(club_top, tuple(practice.shaft_sensor.tolist()))
        out.append(_score(truth, at_top, at_top - at_address, elevation(shaft)))
    return out


def _true(truth, name: str, t_s: float) -> float:
    return float(np.interp(t_s, truth.t_s, truth.angles[name]))


def _bend_rad(practice: HalfHour, forearm: Quat, club: Quat, heading_rad: float) -> float:
    hand = mul(about_z(heading_rad), mul(club, practice.q_sensor_from_hand))
    wrist = mul(inverse(mul(forearm, practice.q_sensor_from_forearm)), hand)
    return anatomical_angles(wrist, practice.side).flexion_rad


def physics(n_practices: int, minutes: float) -> None:
    arguments = [(seed, minutes) for seed in range(700, 700 + n_practices)]
    with ProcessPoolExecutor() as pool:
        results = list(pool.map(measure_physics, arguments))
    print(f"\n{n_practices} practices of {minutes:.0f} min of the independent golfer; degrees, RMS.\n")
    _table(results)


def main(n_practices: int, n_swings: int, errors: tuple[float, ...]) -> None:
    for error in errors:
        arguments = [(seed, n_swings, error) for seed in range(3000, 3000 + n_practices)]
        with ProcessPoolExecutor() as pool:
            results = list(pool.map(measure, arguments))
        minutes = np.mean([end_s for _, end_s in results]) / 60
        print(
            f"\n{n_practices} practices of {minutes:.0f} min, {n_practices * n_swings} swings; degrees, RMS. "
            f"Scale, cross-axis and accelerometer offset {100 * error:.0f} % of what sensors are drawn with.\n"
        )
        _table(results)


def _table(results: list[tuple[dict[str, list[Score]], float]]) -> None:
    columns = ("bend change", "rep to rep", "bend", "first 5 min", "last 5 min", "elevation", "swings")
    print(f"| orientation | heading at each address | {' | '.join(columns)} |")
    print(f"| --- | --- {'| --- ' * len(columns)}|")
    for name in results[0][0]:
        print(f"| {name} | {_row([(table[name], end_s) for table, end_s in results])} |", flush=True)


def _row(practices: list[tuple[list[Score], float]]) -> str:
    scores = [(score, end_s) for some, end_s in practices for score in some]
    change = [np.array([score.bend_change for score in some]) for some, _ in practices]
    bend = np.array([score.bend for score, _ in scores])
    early = np.array([score.at_s < EDGE_S for score, _ in scores])
    late = np.array([score.at_s > end_s - EDGE_S for score, end_s in scores])
    columns = (
        np.concatenate(change), np.concatenate([some - some.mean() for some in change]), bend, bend[early], bend[late],
        np.array([score.elevation for score, _ in scores]),
    )  # fmt: skip
    return " | ".join(f"{np.sqrt(np.mean(column**2)):.2f}" for column in columns) + f" | {len(scores)}"


if __name__ == "__main__":
    words = sys.argv[1:]
    if words[:1] == ["physics"]:
        physics(int(words[1]) if len(words) > 1 else 4, float(words[2]) if len(words) > 2 else 12.0)
        sys.exit()
    main(
        int(words[0]) if words else 4,
        int(words[1]) if len(words) > 1 else 60,
        tuple(map(float, words[2:])) or (1.0, 0.25),
    )
