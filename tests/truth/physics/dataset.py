"""One simulated practice, from a seed to the files that `pitchbend import-imu` takes, with the truth beside them."""

from __future__ import annotations

import json
import shutil
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray
from pyarrow import csv

from tests.truth.physics import errors, moves, practice, radio
from tests.truth.physics.chain import INDEX, build, slices
from tests.truth.physics.play import play
from tests.truth.physics.player import draw_player
from tests.truth.physics.poses import Body
from tests.truth.physics.stage import LAYS_ASIDE, Stage
from tests.truth.physics.truth import Poses, truth_of

STEP_S = 1e-3
TRUTH_EVERY = 5
CHUNK = 20_000
AT = slices()
IMPERFECTIONS = frozenset({"skin", "play", "slip", "regrip", "neutral", "palm", "parts"})
AS_USUAL: Mapping[str, float] = MappingProxyType({})
COLUMNS = (
    "device_time_s", "arrival_time_s", "gyr_x_rad_s", "gyr_y_rad_s", "gyr_z_rad_s", "acc_x_m_s2", "acc_y_m_s2", "acc_z_m_s2",
)  # fmt: skip


@dataclass(slots=True)
class Sensor:
    """One worn sensor while it records."""

    name: str
    gyr: errors.Part
    acc: errors.Part
    link: radio.Link
    sample_s: NDArray[np.float64]
    rows: list[NDArray[np.float64]]
    last: NDArray[np.float64] | None = None  # the engine step before this chunk: time and six values


def script(
    seed: int,
    minutes: float,
    n_swings: int,
    *,
    lead_left: bool,
    shares: Mapping[str, float] = AS_USUAL,
    day: int | None = None,
    lays_aside: float = LAYS_ASIDE,
) -> Stage:
    """What the player does, before any sensor; the same one on another day, when `day` is given."""
    assert shares.keys() <= IMPERFECTIONS, shares
    rng = np.random.default_rng([seed, 1])
    player, who = draw_player(rng, lead_left=lead_left), None
    if day is not None:
        rng, who = np.random.default_rng([seed, 1, day]), np.random.default_rng([seed, 7])
        player = player.on_another_day(rng)
    stage = Stage(Body(build(player, STEP_S), player), rng, unrest=rng.uniform(0.7, 1.3), shares=shares)
    stage.lays_aside = lays_aside
    lag, zero = rng.normal(0.05, 0.015), np.radians(75.0)
    stage.timeline.follows.append((INDEX["skin_roll"], INDEX["pron"], -lag * stage.slack("skin"), zero))
    moves.set_up(stage, brief=day is not None)
    practice.practise(stage, 60.0 * minutes, n_swings, who)
    stage.finish()
    return stage


def record(stage: Stage, seed: int, *, perfect: bool = False) -> tuple[dict[str, Sensor], Poses]:
    """Run the engine over the whole script in chunks; gives what each sensor sampled and the poses for the truth."""
    rng = np.random.default_rng([seed, 2])
    model = build(stage.body.player, STEP_S)
    n_steps = int(stage.now_s / STEP_S)
    sensors = {}
    for name in ("forearm", "club"):
        link = radio.draw_link(rng)
        rate_hz = 1.0 / STEP_S
        gyr, acc = errors.draw_gyroscope(rng, rate_hz), errors.draw_accelerometer(rng, rate_hz)
        if perfect:
            gyr, acc = gyr.perfect(), acc.perfect()
        sensors[name] = Sensor(name, gyr, acc, link, radio.sample_times(link, (n_steps - 1) * STEP_S), [])
    parts: list[Poses] = []
    for first in range(0, n_steps, CHUNK):
        t_s = np.arange(first, min(first + CHUNK, n_steps)) * STEP_S
        read = play(model, *stage.timeline(t_s))
        parts.append(Poses.of(t_s, read, STEP_S, parts[-1] if parts else None, TRUTH_EVERY))
        for sensor in sensors.values():
            _sense(sensor, stage, t_s, read, rng)
    return sensors, Poses.join(parts)


def _sense(sensor: Sensor, stage: Stage, t_s, read, rng) -> None:
    """Pick the carrier at each instant, add the blows of the ball, the part's errors, and sample."""
    ideal = np.empty((t_s.size, 6))
    for since_s, site in stage.carriers[sensor.name]:
        here = t_s >= since_s
        ideal[here, :3] = read[here, AT["gyro", site]]
        ideal[here, 3:] = read[here, AT["accelerometer", site]]
    for k, swing in enumerate(stage.swings):
        if swing.hit and t_s[0] - 0.2 < swing.impact_s < t_s[-1] + 0.2:
            same = np.random.default_rng([k, sensor.name == "club"])  # one blow, though it may straddle two chunks
            blow = errors.shock(t_s, swing.impact_s, same, sensor.name == "club")
            ideal += np.hstack(blow)
    values = np.column_stack([t_s, sensor.gyr(ideal[:, :3], STEP_S, rng), sensor.acc(ideal[:, 3:], STEP_S, rng)])
    if sensor.last is not None:
        values = np.vstack([sensor.last, values])
    sensor.last = values[-1]
    at = sensor.sample_s[(sensor.sample_s >= values[0, 0]) & (sensor.sample_s < values[-1, 0])]
    row = np.column_stack([at, *(np.interp(at, values[:, 0], values[:, k]) for k in range(1, 7))])
    sensor.rows.append(row)


def write(stage: Stage, sensors: dict[str, Sensor], poses: Poses, folder: Path, seed: int) -> None:
    """F.csv, C.csv, M.json and truth.npz in `folder`; all but device stamps on the host's clock."""
    rng = np.random.default_rng([seed, 3])
    host_s = float(np.round(rng.uniform(100.0, 90_000.0), 6))
    player = stage.body.player
    folder.mkdir(parents=True, exist_ok=True)
    for sensor, file in ((sensors["forearm"], "F.csv"), (sensors["club"], "C.csv")):
        rows = np.vstack(sensor.rows)
        rows = rows[: len(rows) // radio.PACKET * radio.PACKET]
        arrived, kept = radio.arrivals(sensor.link, rows[:, 0], rng)
        data = np.column_stack([
            radio.device_times(sensor.link, rows[:, 0]), np.round(arrived + host_s, 6),
            sensor.gyr.digits(rows[:, 1:4]), sensor.acc.digits(rows[:, 4:7]),
        ])[kept]  # fmt: skip
        table = pa.table({name: np.round(column, 7) for name, column in zip(COLUMNS, data.T, strict=True)})
        csv.write_csv(table, folder / file)
    marks = {
        "lead_side": "left" if player.lead_left else "right",
        "club_length_m": round(player.club_m, 2),
        "arm_length_m": round(player.arm_m + rng.normal(0.0, 0.01), 2),
        "moves": [
            {"name": m.name, "start_s": round(m.start_s + host_s, 3), "end_s": round(m.end_s + host_s, 3)}
            for m in stage.moves
        ],
    }
    (folder / "M.json").write_text(json.dumps(marks, indent=1))
    series, dates = truth_of(player, poses, stage.swings)
    columns = {
        f"swing_{name}": np.array([d[name] + (host_s if name.endswith("_s") else 0.0) for d in dates])
        for name in dates[0]
    }
    aside = np.array([[t + host_s, float(site == "club_sensor")] for t, site in stage.carriers["club"]])
    straight = np.zeros(poses.t_s.size, dtype=bool)
    for move in stage.moves:
        if move.name == "neutral":
            straight |= (poses.t_s > move.start_s) & (poses.t_s < move.end_s)
    clocks = {
        f"clock_{name}": np.array([sensor.link.clock_offset_s, 1e-6 * sensor.link.clock_ppm])
        for name, sensor in sensors.items()
    }
    halves = np.array(stage.half_moves).reshape(-1, 2) + host_s
    np.savez_compressed(
        folder / "truth.npz", host_time_s=poses.t_s + host_s, lead_left=player.lead_left, in_hand=aside,
        half_moves_s=halves, neutral_bend_deg=series["bend_deg"][straight].mean(),
        neutral_hinge_deg=series["hinge_deg"][straight].mean(), **clocks,
        **{k: v.astype(np.float32) for k, v in series.items()}, **columns,
    )  # fmt: skip


def make(
    seed: int, folder: Path, minutes: float = 30.0, n_swings: int | None = None, *, lead_left: bool | None = None,
    shares: Mapping[str, float] = AS_USUAL, day: int | None = None,
    lays_aside: float = LAYS_ASIDE,
) -> Stage:  # fmt: skip
    """A whole practice on disk; by default 40 to 60 swings in half an hour and every third player left-handed.

    `shares` makes some of the `IMPERFECTIONS` smaller or larger than usual (0: none of it), to see what each costs.
    """
    rng = np.random.default_rng([seed, 0])
    lead_left = seed % 3 != 2 if lead_left is None else lead_left
    n_swings = int(rng.integers(40, 61) * minutes / 30.0) if n_swings is None else n_swings
    stage = script(seed, minutes, n_swings, lead_left=lead_left, shares=shares, day=day, lays_aside=lays_aside)
    own = seed if day is None else 1000 * seed + day
    sensors, poses = record(stage, own, perfect=shares.get("parts") == 0.0)
    write(stage, sensors, poses, folder, own)
    return stage


def without_moves(whole: Path, folder: Path, left_out: Collection[str]) -> None:
    """The same practice in another folder, with some moves taken out of its marks."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in ("F.csv", "C.csv", "truth.npz"):
        shutil.copy(whole / name, folder)
    marks = json.loads((whole / "M.json").read_text())
    kept = [move for move in marks["moves"] if move["name"] not in left_out]
    (folder / "M.json").write_text(json.dumps(marks | {"moves": kept}))
