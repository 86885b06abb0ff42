"""Every form of export, opened by a reader that shares no code with the project, holds what `fusion` says of the same recording.

Parquet and CSV by pyarrow, C3D by ezc3d, the recording itself by the MCAP project's reader. Orientations by splitting text, and,
where it is installed (`pip install opensim`, 222 MB), by OpenSim. The pipeline is asked directly, past everything in `server`.
"""

from __future__ import annotations

import math

import ezc3d
import numpy as np
import pytest
from mcap.reader import make_reader
from pyarrow import csv as arrow_csv
from pyarrow import parquet
from scipy.spatial.transform import Rotation, Slerp
from typer.testing import CliRunner

from fusion.outputs.instant import Series
from fusion.outputs.rep import Rep, RepRefined
from fusion.pipeline import Pipeline
from sensors.events import RawPacket
from sensors.record.reader import read_events
from server.cli.demo_recording import demo_recording
from server.cli.main import app
from server.drills import default_drill

DEMO = demo_recording()
DEG = math.degrees(1.0)
COLUMNS = {
    "bend_deg": ("bend_rad", DEG),
    "bend_change_deg": ("bend_change_rad", DEG),
    "hinge_deg": ("hinge_rad", DEG),
    "hinge_change_deg": ("hinge_change_rad", DEG),
    "forearm_roll_deg": ("roll_change_rad", DEG),
    "shaft_elevation_deg": ("shaft_elevation_rad", DEG),
    "shaft_pitch_deg": ("shaft_pitch_rad", DEG),
    "face_twist_deg": ("face_twist_rad", DEG),
    "butt_line_m": ("butt_line_m", 1.0),
}


@pytest.fixture(scope="module")
def own():
    """All instants and the reps, as the pipeline gives them."""
    pipeline, moments, reps = Pipeline(default_drill(), series=True), [], {}
    for event in read_events(DEMO):
        for output in pipeline.push(event):
            if isinstance(output, Series):
                moments.extend(output.moments)
            elif isinstance(output, Rep | RepRefined):
                rep = output if isinstance(output, Rep) else output.rep
                reps[rep.index] = rep
    moments.extend(moment for output in pipeline.close() for moment in output.moments)
    return moments, reps


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("readers")
    for words in (["export", DEMO, "--to", folder], ["analyse", DEMO, "--series", folder / "series.parquet"]):
        result = CliRunner().invoke(app, [str(word) for word in words])
        assert result.exit_code == 0, result.output
    return folder


@pytest.mark.parametrize("name", ["series.parquet", "series.csv"])
def test_tables(folder, own, name):
    moments, _ = own
    nulls = arrow_csv.ConvertOptions(strings_can_be_null=True)
    table = (
        parquet.read_table(folder / name)
        if name.endswith("parquet")
        else arrow_csv.read_csv(folder / name, convert_options=nulls)
    )
    assert table.num_rows == len(moments)
    assert table["phase"].to_pylist() == [moment.phase.value for moment in moments]
    for column, (source, factor) in COLUMNS.items():
        for suffix, of in (("", "angles"), ("_sd", "spread")):
            inside = [getattr(getattr(moment, of), source) for moment in moments]
            expected = np.array([np.nan if value is None else value * factor for value in inside])
            found = np.array(table[column + suffix].to_pylist(), float)
            assert np.count_nonzero(~np.isnan(found)) > 1000, column
            np.testing.assert_allclose(found, expected, rtol=1e-12, atol=1e-12, err_msg=column + suffix)


def truth_of(own, number, t_s, segment):
    """The pipeline's own pose at these times, from its instants to either side."""
    moments, _ = own
    near = [one for one in moments if one.pose is not None and t_s[0] - 0.1 < one.t_s < t_s[-1] + 0.1]
    at, first = np.unique([one.t_s for one in near], return_index=True)
    quats = [getattr(near[i].pose, f"q_earth_from_{segment}") for i in first]
    return Slerp(at, Rotation.from_quat(quats, scalar_first=True))(np.clip(t_s, at[0], at[-1]))


def apart_deg(one, other):
    return np.degrees((one.inv() * other).magnitude()).max()


def c3d_of(path):
    read = ezc3d.c3d(str(path))
    labels, rate_hz = (read["parameters"]["POINT"][name]["value"] for name in ("LABELS", "RATE"))
    assert read["parameters"]["POINT"]["UNITS"]["value"] == ["mm"]
    return dict(zip(labels, np.moveaxis(read["data"]["points"][:3], 0, 2) / 1e3, strict=True)), float(rate_hz[0]), read


def test_orientations_and_points(folder, own):
    """X right, Y outward, Z up in C3D; X outward, Y up, Z right in the orientation file: by the docs, written out here anew."""
    for number in (1, 7):
        rep = own[1][number]
        head, _, body = (folder / f"rep-{number:03d}.sto").read_text(encoding="ascii").partition("endheader\n")
        names, *rows = [line.split("\t") for line in body.splitlines()]
        assert head.splitlines()[1:] == ["DataType=Quaternion", "version=3", "OpenSimVersion=4.1"]
        assert names == ["time", "radius_l_imu", "hand_l_imu", "club_imu"]
        t_s = np.array([float(row[0]) for row in rows]) + rep.takeaway_s
        points, rate_hz, read = c3d_of(folder / f"rep-{number:03d}.c3d")
        known = read["data"]["meta_points"]["residuals"][0, 0] >= 0
        assert np.count_nonzero(known) == len(rows)
        assert np.diff(t_s).min() == pytest.approx(1 / rate_hz, abs=2e-6)
        for i, segment in enumerate(("forearm", "hand", "club")):
            truth = truth_of(own, number, t_s, segment)
            quats = [[float(part) for part in row[i + 1].split(",")] for row in rows]
            earth_from_ground = Rotation.from_matrix([[0, 0, 1], [1, 0, 0], [0, 1, 0]])
            sto = earth_from_ground * Rotation.from_quat(quats, scalar_first=True)
            assert apart_deg(sto, truth) < 1e-2, (number, segment)
            x, y = (points[f"{segment.upper()}_{axis}"][known] - points["HANDS"][known] for axis in "XY")
            x, y = (v / np.linalg.norm(v, axis=1)[:, None] for v in (x, y))
            c3d = Rotation.from_matrix(np.stack([x, y, np.cross(x, y)], axis=2))
            assert apart_deg(c3d, truth) < 0.05, (number, segment)


def test_the_recording_as_any_mcap_reader_sees_it():
    packets = [event for event in read_events(DEMO) if isinstance(event, RawPacket)]
    with DEMO.open("rb") as file:
        reader = make_reader(file, validate_crcs=True)
        assert reader.get_header().profile == "pitchbend"
        found = [
            (channel.metadata["sensor"], message.publish_time, message.data)
            for _, channel, message in reader.iter_messages(log_time_order=False)
            if channel.topic.startswith("/packets/")
        ]
    assert found == [(packet.sensor, packet.arrival_ns, packet.payload) for packet in packets]


def test_opensim_itself_reads_the_orientations(folder):
    opensim = pytest.importorskip("opensim", reason="OpenSim is not installed here")
    path = folder / "rep-001.sto"
    table = opensim.TimeSeriesTableQuaternion(str(path))
    rows = [line.split("\t") for line in path.read_text(encoding="ascii").partition("endheader\n")[2].splitlines()]
    assert [*table.getColumnLabels()] == rows[0][1:]
    assert table.getNumRows() == len(rows) - 1
    for i in range(table.getNumRows()):
        cells = table.getRowAtIndex(i)
        read = [[cells.getElt(0, j).get(part) for part in range(4)] for j in range(3)]
        assert read == pytest.approx(
            np.array([[float(v) for v in cell.split(",")] for cell in rows[i + 1][1:]]), abs=1e-8
        )
