"""A clip or strap that turns in the middle of a practice of the independent golfer; turned in the files, by its true mount."""

from __future__ import annotations

import shutil

import numpy as np
import pyarrow as pa
import pytest
from pyarrow import csv
from scipy.spatial.transform import Rotation

pytest.importorskip("mujoco")

from fusion.outputs.fit import SensorTurned, TurnKind
from fusion.outputs.rep import Rep, RepFlag
from fusion.pipeline import Pipeline
from sensors.ids import PAIR, Role
from sensors.record.reader import read_events
from server.drills import default_drill
from tests.truth.physics.product import run_import

FILES = {Role.FOREARM: "F.csv", Role.CLUB: "C.csv"}
FLAGS = {Role.FOREARM: RepFlag.STRAP_TURNED, Role.CLUB: RepFlag.CLIP_TURNED}
TURNED_DEG = 40.0


def turn(stage, folder, role, n_before):
    """Turn one sensor's axes about the segment's long axis between two swings."""
    player = stage.body.player
    mount = player.forearm_mount if role is Role.FOREARM else player.club_mount
    sensor_turn = Rotation.from_rotvec(np.radians(TURNED_DEG) * mount.inv().apply([0.0, 1.0, 0.0])).inv()
    with np.load(folder / "truth.npz") as truth:
        from_s = truth["swing_finish_s"][n_before - 1]
    table = csv.read_csv(folder / FILES[role])
    columns = {name: table[name].to_numpy().copy() for name in table.column_names}
    later = columns["arrival_time_s"] > from_s
    for kind in ("gyr", "acc"):
        names = [name for name in columns if name.startswith(kind)]
        turned = sensor_turn.apply(np.column_stack([columns[name][later] for name in names]))
        for name, values in zip(names, turned.T, strict=True):
            columns[name][later] = values
    csv.write_csv(pa.table(columns), folder / FILES[role])


def said(folder):
    run_import(folder)
    pipeline = Pipeline(default_drill())
    return [out for event in read_events(folder / "X.mcap") for out in pipeline.push(event)]


def copied(folder, to):
    for name in (*FILES.values(), "M.json", "truth.npz"):
        shutil.copy(folder / name, to / name)
    return to


def test_an_honest_practice_tells_nothing(short_practice, tmp_path):
    _, folder = short_practice
    assert [out for out in said(copied(folder, tmp_path)) if isinstance(out, SensorTurned)] == []


@pytest.mark.parametrize("role", PAIR)
def test_a_turn_is_told_by_the_last_swing_and_flagged(short_practice, tmp_path, role):
    stage, folder = short_practice
    turn(stage, copied(folder, tmp_path), role, n_before=3)
    outputs = said(tmp_path)
    (told,) = [out for out in outputs if isinstance(out, SensorTurned)]
    assert (told.role, told.kind) == (role, TurnKind.ROLLED)
    assert abs(np.degrees(told.by_rad)) == pytest.approx(TURNED_DEG, abs=15.0)  # stances scatter by 4 to 6
    flags = [FLAGS[role] in rep.flags for rep in outputs if isinstance(rep, Rep)]
    assert not any(flags[:3])
    assert flags[-1]
