"""A recording as files for other programs, read back by readers that share no code with the project.

C3D by ezc3d (a C++ library), CSV by Python's own module and pyarrow, orientations by scipy. The form of the orientation file is
that of OpenSim's inertial tools (as others in public repositories write it; `test_export_readers.py` has OpenSim read it).
"""

from __future__ import annotations

import csv
import json

import ezc3d
import numpy as np
import pytest
from pyarrow import csv as arrow_csv
from pyarrow import parquet
from scipy.spatial.transform import Rotation
from typer.testing import CliRunner

from fusion.outputs.instant import Phase
from sensors.ids import Side
from sensors.record.reader import read_events
from sensors.record.writer import Recorder
from server.cli.demo_recording import demo_recording
from server.cli.main import app
from server.export.folder import FolderExport, Form
from server.export.motion import SEGMENTS, swing_motion
from server.export.orientation_file import write_orientations

DEMO = demo_recording()
N_REPS = 12


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("export")
    result = CliRunner().invoke(app, ["export", str(DEMO), "--to", str(folder)])
    assert result.exit_code == 0, result.output
    assert f"{N_REPS} swings have files of their own." in result.output
    return folder


@pytest.fixture(scope="module")
def analysed(tmp_path_factory):
    folder = tmp_path_factory.mktemp("analysed")
    series, reps = folder / "series.parquet", folder / "reps.json"
    result = CliRunner().invoke(app, ["analyse", str(DEMO), "--series", str(series), "--reps", str(reps)])
    assert result.exit_code == 0, result.output
    return parquet.read_table(series), json.loads(reps.read_bytes())


def test_the_series_as_csv_is_the_series_as_parquet(folder, analysed):
    expected = analysed[0]
    found = arrow_csv.read_csv(
        folder / "series.csv", convert_options=arrow_csv.ConvertOptions(strings_can_be_null=True)
    )
    assert found.column_names == expected.column_names
    for name in expected.column_names:
        assert found[name].to_pylist() == expected[name].to_pylist(), name


def test_the_reps_as_csv_are_the_reps_as_json(folder, analysed):
    with (folder / "reps.csv").open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    assert len(rows) == len(analysed[1]) == N_REPS
    for row, rep in zip(rows, analysed[1], strict=True):
        assert float(row["top_s"]) == rep["top_s"]
        assert row["flags"] == "; ".join(rep["flags"])
        for mark, values in rep["values"].items():
            for name, value in (values or {}).items():
                text = row[f"{mark}_{name}"]
                assert (float(text) if text else None) == value


def read_c3d(path):
    read = ezc3d.c3d(str(path))
    parameters = read["parameters"]
    points = dict(
        zip(parameters["POINT"]["LABELS"]["value"], np.moveaxis(read["data"]["points"][:3], 0, 2), strict=True)
    )
    return read, parameters, {name: values / 1e3 for name, values in points.items()}


def orientation_of(points, segment):
    x, y = (points[f"{segment.upper()}_{axis}"] - points["HANDS"] for axis in "XY")
    x, y = (v / np.linalg.norm(v, axis=1)[:, None] for v in (x, y))
    return Rotation.from_matrix(np.stack([x, y, np.cross(x, y)], axis=2))


def read_sto(path):
    head, _, body = path.read_text(encoding="ascii").partition("endheader\n")
    names, *rows = [line.split("\t") for line in body.splitlines()]
    quats = np.array([[[float(v) for v in cell.split(",")] for cell in row[1:]] for row in rows])
    return dict(line.split("=") for line in head.splitlines()), names, np.array([float(row[0]) for row in rows]), quats


def test_a_swing_as_c3d(folder, analysed):
    rep = analysed[1][0]
    read, parameters, points = read_c3d(folder / "rep-001.c3d")
    assert parameters["POINT"]["UNITS"]["value"] == ["mm"]
    rate_hz = parameters["POINT"]["RATE"]["value"][0]
    assert rate_hz == pytest.approx(200, abs=4)
    # Lengths that hold in every frame, whatever the pose: 0.94 m of club, 0.62 m of arm (the model's common ones).
    assert np.linalg.norm(points["HEAD"] - points["BUTT"], axis=1) == pytest.approx(0.94, abs=1e-4)
    assert np.linalg.norm(points["HANDS"] - points["HUB"], axis=1) == pytest.approx(0.62, abs=1e-4)
    assert points["HEAD"][0] == pytest.approx(0.0, abs=1e-4)
    events = parameters["EVENT"]
    assert [label.strip() for label in events["LABELS"]["value"]] == [
        "takeaway", "shaft level", "lead arm level", "top", "impact", "finish",
    ]  # fmt: skip
    minutes, seconds = events["TIMES"]["value"]
    times_s = 60 * minutes + seconds
    assert times_s[3] - times_s[0] == pytest.approx(rep["backswing_s"], abs=1e-4)
    assert times_s[4] - times_s[3] == pytest.approx(rep["downswing_s"], abs=1e-4)
    # At the top: the shaft's elevation from the points, by trigonometry, is the one reported.
    top = round(times_s[3] * rate_hz)
    rise = points["HEAD"][top] - points["BUTT"][top]
    elevation_deg = np.degrees(np.arcsin(rise[2] / np.linalg.norm(rise)))
    assert elevation_deg == pytest.approx(rep["values"]["top"]["shaft_elevation_deg"], abs=1.0)
    assert read["header"]["points"]["last_frame"] + 1 == len(points["HEAD"])


def test_the_wrist_comes_out_of_the_files_as_it_was_reported(folder, analysed):
    """Flexion by the wrist convention (intrinsic z-x'-y''), worked out by scipy from the orientations in the file."""
    for number in (1, 7):
        rep = analysed[1][number - 1]
        _, names, times_s, quats = read_sto(folder / f"rep-{number:03d}.sto")
        assert names == ["time", "radius_l_imu", "hand_l_imu", "club_imu"]
        forearm, hand = (Rotation.from_quat(quats[:, i], scalar_first=True) for i in (0, 1))
        flexion_deg = (forearm.inv() * hand).as_euler("ZXY", degrees=True)[:, 0]
        for mark in ("shaft_level", "lead_arm_level", "top"):
            here = int(np.argmin(np.abs(times_s - (rep[f"{mark}_s"] - rep["takeaway_s"]))))
            assert flexion_deg[here] == pytest.approx(rep["values"][mark]["bend_deg"], abs=2.0), (number, mark)


def test_both_files_hold_the_same_poses(folder):
    head, _, times_s, quats = read_sto(folder / "rep-003.sto")
    _, parameters, points = read_c3d(folder / "rep-003.c3d")
    assert float(head["DataRate"]) == parameters["POINT"]["RATE"]["value"][0]
    assert (head["DataType"], head["version"]) == ("Quaternion", "3")
    assert len(times_s) == len(points["HEAD"])
    # Ground of the one: X forward (outward over the ball), Y up, Z right; of the other: x right, y outward, z up.
    ground = Rotation.from_matrix([[0, 1, 0], [0, 0, 1], [1, 0, 0]])
    for i, segment in enumerate(SEGMENTS):
        apart = (ground * orientation_of(points, segment)).inv() * Rotation.from_quat(quats[:, i], scalar_first=True)
        assert np.degrees(apart.magnitude()).max() < 0.05, segment


def test_the_motion_is_smooth_from_its_first_frame(folder):
    """The zero is renewed while the golfer stands; none of it shows as a jump."""
    for number in range(1, N_REPS + 1):
        _, _, times_s, quats = read_sto(folder / f"rep-{number:03d}.sto")
        forearm = Rotation.from_quat(quats[:, 0], scalar_first=True)
        step_deg = np.degrees((forearm[:-1].inv() * forearm[1:]).magnitude())
        assert step_deg[times_s[1:] < 0.0].max(initial=0.0) < 0.6
        assert times_s[0] <= 0.0


def test_the_toe_points_outward_at_address_and_the_club_is_right_handed(folder):
    _, _, points = read_c3d(folder / "rep-001.c3d")
    club = orientation_of(points, "club").as_matrix()[0]
    assert club[1, 2] > 0.5  # Z, the toe: outward
    assert club[2, 1] > 0.5  # Y, the butt: up
    assert club[0, 0] < -0.9  # X: to the player's left, where the target of one whose left arm leads is
    assert np.linalg.det(club) == pytest.approx(1.0)


def shortened(tmp_path, until):
    path = tmp_path / "short.mcap"
    with Recorder(path) as recorder:
        for event in read_events(DEMO):
            if until(event):
                break
            recorder.write(event)
    return path


def test_a_swing_cut_off_by_the_end_of_the_data_has_its_file(tmp_path):
    whole = FolderExport(DEMO, tmp_path, frozenset(), overwrite=True)
    for _ in whole.run():
        pass
    rep = whole.analysis.reps[0]
    first_ns = next(iter(read_events(DEMO))).arrival_ns
    impact_s = rep.checkpoints[Phase.IMPACT].t_s
    cut = shortened(tmp_path, lambda event: (event.arrival_ns - first_ns) * 1e-9 > impact_s + 0.15)
    folder = tmp_path / "out"
    folder.mkdir()
    export = FolderExport(cut, folder, frozenset({Form.OPENSIM}), overwrite=False)
    for _ in export.run():
        pass
    assert [path.name for path in folder.iterdir()] == ["rep-001.sto"]
    assert export.written.n_swings == 1


def test_a_practice_without_swings_says_so(tmp_path):
    seen = []
    path = shortened(tmp_path, lambda event: seen.append(event) or len(seen) > 400)
    result = CliRunner().invoke(app, ["export", str(path), "--to", str(tmp_path / "none")])
    assert result.exit_code == 0
    assert "No swings in it." in result.output


def test_files_are_not_replaced_unasked(folder):
    before = {path.name: path.stat().st_mtime_ns for path in folder.iterdir()}
    result = CliRunner().invoke(app, ["export", str(DEMO), "--to", str(folder), "--as", "csv"])
    assert result.exit_code != 0
    assert "series.csv" in str(result.exception)
    assert {path.name: path.stat().st_mtime_ns for path in folder.iterdir()} == before


def test_a_right_arm_has_the_right_arms_columns(tmp_path):
    exporting = FolderExport(DEMO, tmp_path, frozenset(), overwrite=True)
    for _ in exporting.run():
        pass
    motion = swing_motion(exporting.analysis.reps[-1], exporting._recent)
    assert motion is not None
    write_orientations(tmp_path / "r.sto", motion, Side.RIGHT)
    assert read_sto(tmp_path / "r.sto")[1] == ["time", "radius_r_imu", "hand_r_imu", "club_imu"]
