"""`pitchbend import-imu`: what comes out is what went in, on the arrival clock; what is wrong is told with its place."""

from __future__ import annotations

import itertools
import json
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from mcap.reader import make_reader
from typer.testing import CliRunner

from sensors.decode.decoder import decoder_for
from sensors.events import MoveEnd, MoveStart, PlayerSet, RawPacket, SensorInfo
from sensors.ids import Move, Role, Side
from sensors.profiles.float_imu import MAX_SAMPLES
from sensors.profiles.registry import profile_named
from sensors.readings import Gap, Reading
from sensors.record.reader import read_events, read_head
from server.cli import import_imu, main
from server.cli.failures import CommandFailed
from server.importing import table
from server.importing.packets import MAX_SINGLES, SINGLES_SPAN_NS, TOGETHER_NS, cuts, packets
from server.importing.rate import measured_rate_hz
from server.importing.table import COLUMNS, Block

ROOT = Path(__file__).resolve().parents[2]
HEADER = ",".join(COLUMNS)


def rows(n=400, *, rate_hz=200.0, first_s=1_790_000_000.25, per_packet=10, device_s=None, seed=0):
    """Made-up rows, (n, 8): gravity, noise, arrivals in bursts."""
    rng = np.random.default_rng(seed)
    device_s = 40.0 + np.arange(n) / rate_hz if device_s is None else np.asarray(device_s)
    last = np.minimum((np.arange(n) // per_packet + 1) * per_packet - 1, n - 1)
    arrival_s = first_s + last / rate_hz
    return np.column_stack([device_s, arrival_s, rng.normal(0, 0.5, (n, 3)), rng.normal([0, 0, 9.81], 0.2, (n, 3))])


def write_csv(path, data, *, header=HEADER, order=None):
    lines = [header]
    for row in data:
        cells = [repr(float(value)) for value in row]
        lines.append(",".join(cells if order is None else [cells[i] for i in order]))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


class Files:
    def __init__(self, folder, forearm=None, club=None, marks=None):
        self.forearm, self.club, self.marks = folder / "F.csv", folder / "C.csv", folder / "M.json"
        self.output = folder / "X.mcap"
        write_csv(self.forearm, rows() if forearm is None else forearm)
        write_csv(self.club, rows(seed=1) if club is None else club)
        self.marks.write_text(json.dumps(marks or {"lead_side": "left"}), encoding="utf-8")

    def run(self, *words):
        named = ["--forearm", self.forearm, "--club", self.club, "--marks", self.marks, "-o", self.output]
        return CliRunner().invoke(main.app, ["import-imu", *map(str, [*named, *words])])

    def problem(self, *words):
        result = self.run(*words)
        assert isinstance(result.exception, CommandFailed), result.exception
        return str(result.exception)

    def events(self):
        result = self.run()
        assert result.exit_code == 0, result.exception
        return list(read_events(self.output))


def samples_of(events, role):
    info = next(e for e in events if isinstance(e, SensorInfo) and e.role is role)
    decoder = decoder_for(profile_named(info.profile))
    items = [item for e in events if isinstance(e, RawPacket) and e.sensor == info.sensor for item in decoder.push(e)]
    readings = [item for item in items if isinstance(item, Reading)]
    device_s = np.concatenate([r.device_s for r in readings])
    values = np.concatenate([np.hstack([r.gyr_sensor_rad_s, r.acc_sensor_m_s2]) for r in readings])
    return device_s, values, [item for item in items if isinstance(item, Gap)]


def test_what_comes_out_is_what_went_in(tmp_path):
    data = {Role.FOREARM: rows(403), Role.CLUB: rows(390, seed=1)}
    events = Files(tmp_path, data[Role.FOREARM], data[Role.CLUB]).events()
    for role, expected in data.items():
        device_s, values, gaps = samples_of(events, role)
        assert np.array_equal(device_s, expected[:, 0])
        assert np.array_equal(values, expected[:, 2:].astype(np.float32))
        assert gaps == []
    stamps = [event.arrival_ns for event in events]
    assert stamps == sorted(stamps)


def test_an_independent_reader_sees_topics_order_and_the_arrival_clock(tmp_path):
    """The mcap library's own reader; arrivals restored from the notes alone must be the CSV's."""
    data = rows(400)
    files = Files(tmp_path, data)
    assert files.run().exit_code == 0
    with files.output.open("rb") as file:
        reader = make_reader(file, validate_crcs=True)
        notes = {m.name: m.metadata for m in reader.iter_metadata()}["notes"]
        messages = list(reader.iter_messages())
    forearm = [m for _, channel, m in messages if channel.metadata.get("role") == "forearm"]
    assert {channel.topic for _, channel, _ in messages} == {
        "/events",
        "/packets/imported-forearm",
        "/packets/imported-club",
    }
    zero_s = int(notes["arrival_zero_s"])
    restored_s = [zero_s + m.publish_time * 1e-9 for m in forearm]
    assert restored_s == pytest.approx(np.unique(data[:, 1]), abs=3e-7)  # a double at 1.8e9 s steps by 2.4e-7
    assert [m.log_time - zero_s * 10**9 for m in forearm] == [m.publish_time for m in forearm]
    assert sum(m.data[1] for m in forearm) == 400


def test_player_and_moves(tmp_path):
    first_s = 1_790_000_000.25
    moves = [
        {"name": "still", "start_s": first_s - 5.0, "end_s": first_s + 0.5},
        {"name": "neutral", "start_s": first_s + 0.5, "end_s": first_s + 1.0},
        {"name": "attitude", "start_s": first_s + 1, "end_s": first_s + 1.25},
    ]
    marks = {"lead_side": "right", "club_length_m": 0.94, "arm_length_m": 0.63, "moves": moves}
    events = Files(tmp_path, marks=marks).events()
    player = events[0]
    assert isinstance(player, PlayerSet)
    assert (player.lead_side, player.club_length_m, player.arm_length_m) == (Side.RIGHT, 0.94, 0.63)
    at = [(type(e), e.move, e.arrival_ns) for e in events if isinstance(e, MoveStart | MoveEnd)]
    assert at == [
        (MoveStart, Move.STILL, pytest.approx(295_000_000, abs=300)),  # not before the first row
        (MoveEnd, Move.STILL, 750_000_000),
        (MoveStart, Move.NEUTRAL, 750_000_000),
        (MoveEnd, Move.NEUTRAL, 1_250_000_000),
        (MoveStart, Move.ATTITUDE, 1_250_000_000),
        (MoveEnd, Move.ATTITUDE, 1_500_000_000),
    ]
    assert read_head(tmp_path / "X.mcap").created.startswith("2026-09-21T")  # date -u -d @1790000000


def test_the_end_after_which_no_other_kind_of_move_comes_is_told(tmp_path):
    """Calibrations aside, and those that are made again: an address before every swing, say."""
    first_s = 1_790_000_000.25
    names = ["neutral", "still", "address", "attitude", "address", "neutral"]
    starts_s = [first_s + 0.1 + 0.2 * i for i in range(len(names))]
    moves = [
        {"name": name, "start_s": start_s, "end_s": start_s + 0.1}
        for name, start_s in zip(names, starts_s, strict=True)
    ]
    events = Files(tmp_path, marks={"lead_side": "left", "moves": moves}).events()
    ends = [(e.move, e.is_last) for e in events if isinstance(e, MoveEnd)]
    assert ends == [(Move(name), i == 2) for i, name in enumerate(names)]


@pytest.mark.parametrize("first_s", [0.0, 1364.869399, -3.5])
def test_any_epoch(tmp_path, first_s):
    events = Files(tmp_path, rows(first_s=first_s), rows(first_s=first_s)).events()
    assert 0 <= events[0].arrival_ns < 1_000_000_000
    assert int(read_head(tmp_path / "X.mcap").notes["arrival_zero_s"]) == np.floor(rows(first_s=first_s)[0, 1])


def test_columns_in_any_order_and_others_ignored(tmp_path):
    files = Files(tmp_path)
    expected = rows()
    order = [7, 0, 3, 1, 2, 4, 6, 5]
    header = ",".join([*(COLUMNS[i] for i in order), "température"])
    lines = [header] + [",".join([*(repr(float(row[i])) for i in order), "21°"]) for row in expected]
    files.forearm.write_text("\ufeff" + "\r\n".join(lines) + "\r\n", encoding="utf-8")
    device_s, values, _ = samples_of(files.events(), Role.FOREARM)
    assert np.array_equal(device_s, expected[:, 0])
    assert np.array_equal(values, expected[:, 2:].astype(np.float32))


def test_holes_restarts_and_the_measured_rate(tmp_path):
    device_s = np.concatenate([9.0 + np.arange(200) / 198.0, 9.0 + np.arange(203, 300) / 198.0, np.arange(103) / 198.0])
    events = Files(tmp_path, rows(400, device_s=device_s)).events()
    _, _, gaps = samples_of(events, Role.FOREARM)
    assert [(gap.n_lost, gap.restarted) for gap in gaps] == [(3, False), (0, True)]
    info = next(e for e in events if isinstance(e, SensorInfo))
    assert info.profile == "float-imu-1@198.000"


def test_the_rate_of_stamps_rounded_to_milliseconds(tmp_path):
    assert measured_rate_hz(tmp_path, np.round(np.arange(5000) / 208.0, 3)) == pytest.approx(208.0, rel=1e-3)


def test_small_blocks_change_nothing(tmp_path, monkeypatch):
    whole = Files(tmp_path, rows(2000, per_packet=7)).events()
    monkeypatch.setattr(table, "BLOCK_BYTES", 3000)
    (tmp_path / "small").mkdir()
    small = Files(tmp_path / "small", rows(2000, per_packet=7)).events()
    assert [e for e in small if isinstance(e, RawPacket)] == [e for e in whole if isinstance(e, RawPacket)]


# Cutting rows into packets


def test_rows_that_arrived_together_are_one_packet_and_single_rows_go_by_tens():
    burst = [0] * 4 + [1_000_000] * 2  # within 1 ms
    singles = [20_000_000 + 5_000_000 * i for i in range(13)]
    assert list(cuts(burst + singles, final=True)) == [(0, 6), (6, 16), (16, 19)]
    assert list(cuts([0] * 150, final=True)) == [(0, 64), (64, 128), (128, 150)]
    assert list(cuts([0, 300_000_000], final=True)) == [(0, 1), (1, 2)]


WAITS = st.lists(st.sampled_from([0, 0, 0, 400_000, 1_000_001, 5_000_000, 50_000_000, 2_000_000_000]), max_size=300)


@given(WAITS)
def test_packets_hold_every_row_once_and_never_too_much(waits):
    stamps = np.cumsum([0, *waits]).tolist()
    parts = list(cuts(stamps, final=True))
    assert [i for start, end in parts for i in range(start, end)] == list(range(len(stamps)))
    for start, end in parts:
        assert end - start <= MAX_SAMPLES
        span = stamps[end - 1] - stamps[start]
        assert span <= TOGETHER_NS or (end - start <= MAX_SINGLES and span <= SINGLES_SPAN_NS)


@given(WAITS, st.lists(st.integers(1, 90), max_size=20))
def test_how_the_file_was_read_in_blocks_changes_no_packet(waits, sizes):
    n = len(waits) + 1
    data = rows(n)
    data[:, 1] = np.cumsum([5.0, *(wait * 1e-9 for wait in waits)])
    ends = np.unique(np.minimum(np.cumsum([0, *sizes, n]), n))

    def blocks(edges):
        for start, end in itertools.pairwise(edges):
            part = data[start:end]
            yield Block(device_s=part[:, 0], arrival_s=part[:, 1], values=part[:, 2:])

    assert list(packets("a", blocks(ends), 5)) == list(packets("a", blocks([0, n]), 5))


# What is wrong is told, with its place


@pytest.mark.parametrize(
    ("column", "text", "told"),
    [
        (2, "abc", "gyr_x_rad_s is 'abc'"),
        (5, "", "acc_x_m_s2 is ''"),
        (3, "NaN", "gyr_y_rad_s is nan"),
        (7, "-inf", "acc_z_m_s2 is -inf"),
        (7, "1e300", "acc_z_m_s2 is 1e+300"),
        (0, "40.0", "device_time_s goes back to 40.0"),
        (0, "40.985", "device_time_s is 40.985 for the second time"),
        (1, "1790000000.0", "arrival_time_s goes back to 1790000000.0"),
        (4, "0.5,0.5", "(9 instead of 8)"),
    ],
)
@pytest.mark.parametrize("blank_lines", [0, 2])
def test_a_bad_row_is_named_by_line_and_column(tmp_path, column, text, told, blank_lines):
    files = Files(tmp_path)
    lines = files.forearm.read_text().splitlines()
    cells = lines[199].split(",")
    cells[column] = text
    lines[199] = ",".join(cells)
    lines[100:100] = [""] * blank_lines
    files.forearm.write_text("\n".join(lines))
    problem = files.problem()
    assert problem.startswith(f"{files.forearm}, line {200 + blank_lines}: ")
    assert told in problem
    assert len(problem.splitlines()) == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["C.csv", "F.csv", "M.json"]


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "empty"),
        (b"\n\n", "empty"),
        (HEADER.encode(), "too few rows"),
        (HEADER.encode() + b"\n1,1,0,0,0,0,0,9.8\n", "too few rows"),
        (HEADER.replace("acc_y_m_s2", "acc_y").encode() + b"\n", "no column acc_y_m_s2"),
        (HEADER.replace(",", ";").encode() + b"\n", "parted by commas"),
        ((HEADER + ",acc_x_m_s2").encode() + b"\n", "two columns acc_x_m_s2"),
        ((HEADER + "\n").encode("utf-16"), "not UTF-8"),
        ((HEADER + ",Größe\n").encode("latin-1"), "not UTF-8"),
    ],
)
def test_a_file_that_is_no_table(tmp_path, content, told):
    files = Files(tmp_path)
    files.club.write_bytes(content)
    problem = files.problem()
    assert problem.startswith(f"{files.club}: ")
    assert told in problem
    assert not files.output.exists()


def test_times_in_milliseconds_are_told(tmp_path):
    data = rows()
    data[:, 0] *= 1000
    assert "0.2 samples a second" in Files(tmp_path, data).problem()


def test_a_missing_file(tmp_path):
    files = Files(tmp_path)
    files.club.unlink()
    assert "C.csv: it cannot be read (No such file or directory)" in files.problem()


def test_sensors_that_never_met(tmp_path):
    files = Files(tmp_path, club=rows(first_s=1_790_009_000.0))
    assert "never there at the same time" in files.problem()
    assert not files.output.exists()


MOVE = {"name": "still", "start_s": 1_790_000_000.5, "end_s": 1_790_000_001.0}


@pytest.mark.parametrize(
    ("marks", "told"),
    [
        ({}, "lead_side: Field required"),
        ({"lead_side": "both"}, "lead_side"),
        ({"lead_side": "left", "club_length_m": 37.0}, "club_length_m"),
        ({"lead_side": "left", "arm_length_m": 0.0}, "arm_length_m"),
        ({"lead_side": "left", "arm_length_m": "0.6"}, "arm_length_m"),
        ({"lead_side": "left", "moves": [MOVE | {"name": "wiggle"}]}, "moves.0.name"),
        ({"lead_side": "left", "moves": [MOVE, MOVE | {"end_s": 1.0}]}, "moves.1: end_s 1.0 is not after"),
        ({"lead_side": "left", "moves": [MOVE | {"start_s": float("nan")}]}, "moves.0.start_s"),
        ({"lead_side": "left", "moves": [MOVE | {"start_s": 1.0, "end_s": 2.0}]}, "no move lies within the data"),
        ({"lead_side": "left", "moves": [MOVE | {"start_s": 2e9, "end_s": 2.1e9}]}, "no move lies within the data"),
    ],
)
def test_bad_marks(tmp_path, marks, told):
    files = Files(tmp_path)
    files.marks.write_text(json.dumps(marks))
    problem = files.problem()
    assert problem.startswith(f"{files.marks}: ")
    assert told in problem
    assert len(problem.splitlines()) == 1
    assert not files.output.exists()


@pytest.mark.parametrize(("content", "told"), [(b"", "empty"), (b"{", "JSON"), (b"\xff\xfe", "not UTF-8")])
def test_marks_that_are_no_json(tmp_path, content, told):
    files = Files(tmp_path)
    files.marks.write_bytes(content)
    assert told in files.problem()


def test_what_is_odd_is_told_and_taken(tmp_path):
    data = rows()
    data[:, 2:5] = np.degrees(data[:, 2:5]) * 10
    data[:, 5:] /= 9.81
    late = MOVE | {"name": "palm", "start_s": 1_790_009_000.0, "end_s": 1_790_009_001.0}
    files = Files(tmp_path, data, marks={"lead_side": "left", "shoes": 44, "moves": [MOVE, late]})
    result = files.run()
    assert result.exit_code == 0
    assert "accelerations do not look like m/s²" in result.stderr
    assert "must be in rad/s" in result.stderr
    assert "left out: shoes" in result.stderr
    assert "palm lies outside the data" in result.stderr
    assert re.search(r"samples +400 +400", result.stdout)


# The file is whole or not there


def test_nothing_is_overwritten_without_being_asked_to(tmp_path):
    files = Files(tmp_path)
    files.output.write_text("precious")
    assert "--force" in files.problem()
    assert files.output.read_text() == "precious"
    assert files.run("--force").exit_code == 0
    assert read_head(files.output).notes["origin"] == "imported from F.csv and C.csv"


def test_a_failure_half_way_leaves_what_was_there(tmp_path):
    data = rows(50_000)
    data[49_000, 3] = np.nan
    files = Files(tmp_path, data)
    files.output.write_text("precious")
    assert "line 49002" in files.problem("--force")
    assert files.output.read_text() == "precious"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["C.csv", "F.csv", "M.json", "X.mcap"]


def test_ctrl_c_leaves_nothing(tmp_path, monkeypatch):
    files = Files(tmp_path)

    def stopped(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(import_imu.Summariser, "push", stopped)
    assert files.run().exit_code != 0
    assert sorted(path.name for path in tmp_path.iterdir()) == ["C.csv", "F.csv", "M.json"]


def test_no_folder_and_a_folder(tmp_path):
    files = Files(tmp_path)
    files.output = tmp_path / "nowhere" / "X.mcap"
    assert "its folder is not there" in files.problem()
    files.output = tmp_path
    assert "it is a folder" in files.problem("--force")


FULL = """
import resource, signal, sys
from server.cli.main import main
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))
main()
"""


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX limits")
def test_a_full_disk_is_one_sentence_and_exit_code_2(tmp_path):
    """The kernel's own refusal at 20 kB, as in test_record_writer.py."""
    files = Files(tmp_path, rows(4000), rows(4000))
    words = ["--forearm", files.forearm, "--club", files.club, "--marks", files.marks, "-o", files.output]
    answer = subprocess.run(
        [sys.executable, "-c", FULL, "import-imu", *map(str, words)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert answer.returncode == 2
    assert (
        answer.stderr
        == f"{files.output} was not written: the disk is full; free some space, or choose another place.\n"
    )
    assert sorted(path.name for path in tmp_path.iterdir()) == ["C.csv", "F.csv", "M.json"]
