from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest
from mcap.reader import make_reader
from record_samples import CLUB, FOREARM, START_NS, WALL_NS, introductions, packet, packets, practice

from sensors.errors import RecorderError
from sensors.events import RawPacket, SensorInfo
from sensors.ids import Role
from sensors.profiles.open_imu import NAME
from sensors.record.paths import default_folder, part_path, practice_path
from sensors.record.reader import ReadReport, read_events, read_head
from sensors.record.writer import CHUNK_BYTES, Recorder

POSIX = pytest.mark.skipif(sys.platform == "win32", reason="POSIX only")


def write_all(recorder, events):
    for event in events:
        recorder.write(event)


def write(path, events):
    with Recorder(path, wall_clock_ns=lambda: WALL_NS) as recorder:
        write_all(recorder, events)


def test_all_events_come_back_with_their_stamps(tmp_path):
    events = practice(30.0)
    write(tmp_path / "a.mcap", events)
    report = ReadReport()
    assert list(read_events(tmp_path / "a.mcap", report=report)) == events
    assert report.is_clean


def test_the_same_events_give_the_same_bytes(tmp_path):
    write(tmp_path / "a.mcap", practice())
    write(tmp_path / "b.mcap", practice())
    assert (tmp_path / "a.mcap").read_bytes() == (tmp_path / "b.mcap").read_bytes()


def test_any_mcap_reader_sees_wall_clock_times_topics_and_metadata(tmp_path):
    write(tmp_path / "a.mcap", practice(2.0))
    with (tmp_path / "a.mcap").open("rb") as file:
        reader = make_reader(file, validate_crcs=True)
        assert {m.name for m in reader.iter_metadata()} == {"pitchbend"}
        messages = list(reader.iter_messages())
    assert {channel.topic for _, channel, _ in messages} == {"/events", f"/packets/{FOREARM}", f"/packets/{CLUB}"}
    assert messages[0][2].log_time == WALL_NS
    assert all(m.log_time - m.publish_time == WALL_NS - START_NS for _, _, m in messages)
    (about,) = {channel.metadata["role"] for _, channel, _ in messages if channel.topic.endswith(CLUB)}
    assert about == "club"


def test_notes_and_version_stand_in_the_head(tmp_path):
    with Recorder(tmp_path / "a.mcap", notes={"place": "Hollow Fen"}, wall_clock_ns=lambda: WALL_NS) as recorder:
        recorder.write(introductions()[0])
    head = read_head(tmp_path / "a.mcap")
    assert head.notes == {"place": "Hollow Fen"}
    assert head.created == "2026-09-21T14:13:20+00:00"
    assert head.program_version


def test_a_practice_without_any_event_is_still_a_recording(tmp_path):
    write(tmp_path / "a.mcap", [])
    assert list(read_events(tmp_path / "a.mcap")) == []


def test_nothing_is_ever_overwritten(tmp_path):
    (tmp_path / "a.mcap").write_bytes(b"precious")
    with pytest.raises(RecorderError) as caught:
        Recorder(tmp_path / "a.mcap")
    assert caught.value.cause.errno == errno.EEXIST
    assert (tmp_path / "a.mcap").read_bytes() == b"precious"


def test_a_folder_that_is_a_file_is_reported(tmp_path):
    (tmp_path / "folder").touch()
    with pytest.raises(RecorderError):
        Recorder(tmp_path / "folder" / "a.mcap")


def test_a_sensor_worn_elsewhere_gets_a_channel_of_its_own(tmp_path):
    swapped = SensorInfo(arrival_ns=START_NS, sensor=CLUB, role=Role.FOREARM, profile=NAME, name="clip")
    again = SensorInfo(arrival_ns=START_NS, sensor=CLUB, role=Role.FOREARM, profile=NAME, name="clip", firmware="2")
    events = [
        packet(CLUB, 0, START_NS),
        *introductions(),
        packet(CLUB, 1, START_NS),
        swapped,
        packet(CLUB, 2, START_NS),
        again,
        packet(CLUB, 3, START_NS),
    ]
    write(tmp_path / "a.mcap", events)
    assert list(read_events(tmp_path / "a.mcap")) == events
    with (tmp_path / "a.mcap").open("rb") as file:
        channels = [c for c in make_reader(file).get_summary().channels.values() if c.topic.endswith(CLUB)]
    assert [c.metadata.get("role") for c in channels] == [None, "club", "forearm"]


def test_at_most_a_second_is_unwritten_while_recording(tmp_path):
    with Recorder(tmp_path / "a.mcap") as recorder:
        for event in [*introductions(), *packets(20.0)]:
            recorder.write(event)
            on_disk = list(read_events(tmp_path / "a.mcap"))
            assert event.arrival_ns - on_disk[-1].arrival_ns <= 1_000_000_000


def test_slow_packets_are_written_after_a_second_too(tmp_path):
    tiny = [RawPacket(arrival_ns=START_NS + i * 500_000_000, sensor=CLUB, payload=b"x") for i in range(20)]
    with Recorder(tmp_path / "a.mcap") as recorder:
        for i, event in enumerate(tiny):
            recorder.write(event)
            if i > 2:
                assert event.arrival_ns - list(read_events(tmp_path / "a.mcap"))[-1].arrival_ns <= 1_000_000_000


def test_rare_events_are_written_at_once(tmp_path):
    with Recorder(tmp_path / "a.mcap") as recorder:
        for i, event in enumerate(introductions()):
            recorder.write(event)
            assert list(read_events(tmp_path / "a.mcap")) == introductions()[: i + 1]


def test_an_error_in_the_practice_still_closes_the_recording(tmp_path):
    def practice_that_fails():
        with Recorder(tmp_path / "a.mcap") as recorder:
            recorder.write(introductions()[0])
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        practice_that_fails()
    report = ReadReport()
    assert len(list(read_events(tmp_path / "a.mcap", report=report))) == 1
    assert not report.truncated


class FullDisk:
    """Lets a given number of bytes through, then fails half way, as a full disk does."""

    def __init__(self, sink, room):
        self._file = sink._file
        self._room = room

    def write(self, data):
        part = bytes(data[: self._room])
        self._room -= len(part)
        if not part:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return self._file.write(part)

    def __getattr__(self, name):
        return getattr(self._file, name)


def test_a_full_disk_is_reported_once_and_leaves_whole_records(tmp_path):
    path = tmp_path / "a.mcap"
    events = practice(20.0)
    recorder = Recorder(path)
    recorder._sink._file = FullDisk(recorder._sink, room=3 * CHUNK_BYTES)
    with recorder:
        with pytest.raises(RecorderError) as caught:
            write_all(recorder, events)
        assert caught.value.cause.errno == errno.ENOSPC
        assert caught.value.path == path
        assert recorder.failed
        recorder.write(events[-1])
    report = ReadReport()
    kept = list(read_events(path, report=report))
    assert kept == events[: len(kept)]
    assert len(kept) > 20
    assert report.truncated
    assert report.n_damaged_chunks == 0


def test_a_disk_that_fills_at_the_very_end_is_reported_on_closing(tmp_path):
    recorder = Recorder(tmp_path / "a.mcap")
    recorder.write(introductions()[0])
    recorder._sink._file = FullDisk(recorder._sink, room=0)
    with pytest.raises(RecorderError):
        recorder.close()
    assert list(read_events(tmp_path / "a.mcap")) == introductions()[:1]


LIMITED = """
import resource, signal, sys
from pathlib import Path
from record_samples import practice
from sensors.errors import RecorderError
from sensors.record.writer import Recorder
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))
try:
    with Recorder(Path(sys.argv[1])) as recorder:
        for event in practice(20.0):
            recorder.write(event)
except RecorderError as error:
    print(error)
    sys.exit(7)
"""

ENDLESS = """
import itertools, sys
from pathlib import Path
from record_samples import introductions, packets
from sensors.record.writer import Recorder
with Recorder(Path(sys.argv[1])) as recorder:
    for event in introductions() + packets(5.0):
        recorder.write(event)
    print("ready", flush=True)
    sys.stdin.read()
"""


def python(code, path, **kwargs):
    here = Path(__file__).parent
    env = os.environ | {"PYTHONPATH": os.pathsep.join([str(here), str(here.parent.parent)])}
    return subprocess.Popen(
        [sys.executable, "-c", code, str(path)], env=env, stdout=subprocess.PIPE, text=True, **kwargs
    )


@POSIX
def test_a_real_limit_on_file_size_ends_the_recording_cleanly(tmp_path):
    with python(LIMITED, tmp_path / "a.mcap") as process:
        said = process.stdout.read()
    assert process.returncode == 7
    assert "File too large" in said
    assert (tmp_path / "a.mcap").stat().st_size < 20_000
    kept = list(read_events(tmp_path / "a.mcap"))
    assert kept == practice(20.0)[: len(kept)]
    assert len(kept) > 50


@POSIX
def test_killing_the_program_loses_at_most_a_second(tmp_path):
    with python(ENDLESS, tmp_path / "a.mcap", stdin=subprocess.PIPE) as process:
        assert process.stdout.readline() == "ready\n"
        process.send_signal(signal.SIGKILL)
    events = introductions() + packets(5.0)
    report = ReadReport()
    kept = list(read_events(tmp_path / "a.mcap", report=report))
    assert kept == events[: len(kept)]
    assert events[-1].arrival_ns - kept[-1].arrival_ns <= 1_000_000_000
    assert report.truncated


@POSIX
def test_a_folder_deleted_under_the_recording_is_reported(tmp_path):
    path = tmp_path / "day" / "a.mcap"
    with Recorder(path) as recorder:
        recorder.write(introductions()[0])
        path.unlink()
        path.parent.rmdir()
        with pytest.raises(RecorderError):
            recorder.write(introductions()[1])


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_no_room_at_all(tmp_path):
    recorder = Recorder(tmp_path / "a.mcap")
    with Path("/dev/full").open("wb", buffering=0) as full:
        recorder._sink._file.close()
        recorder._sink._file = full
        with pytest.raises(RecorderError) as caught:
            recorder.write(introductions()[0])
    assert caught.value.cause.errno == errno.ENOSPC


def test_practices_are_filed_by_day_and_player_and_never_collide(tmp_path):
    now = datetime(2026, 5, 3, 17, 4, 9, tzinfo=UTC)
    first = practice_path(tmp_path, "Wren Øster / 2", now)
    assert first == tmp_path / "2026-05-03" / "2026-05-03_17-04-09_wren-øster-2.mcap"
    first.parent.mkdir()
    first.touch()
    assert practice_path(tmp_path, "Wren Øster / 2", now).name == "2026-05-03_17-04-09_wren-øster-2-2.mcap"
    assert practice_path(tmp_path, "../..", now).name == "2026-05-03_17-04-09_practice.mcap"
    assert len(practice_path(tmp_path, "x" * 500, now).name) < 100


def test_the_name_holds_nothing_that_a_file_system_refuses(tmp_path):
    """Windows refuses these characters and names (Microsoft, "Naming Files, Paths, and Namespaces"; from memory)."""
    now = datetime(2026, 5, 3, 17, 4, 9, tzinfo=UTC)
    for player in ('a<b>c:"/\\|?*', "con", "nul.", " dot. ", "tab\tline\n", "\udcff", "Ἀθηνᾶ"):
        name = practice_path(tmp_path, player, now).name
        assert not set(name) & set('<>:"/\\|?* \t\n')
        assert name.startswith("2026-05-03_")


def test_a_part_is_named_after_the_file_it_continues(tmp_path):
    assert part_path(tmp_path, "x").name == "x-part-2.mcap"
    (tmp_path / "x-part-2.mcap").touch()
    assert part_path(tmp_path, "x").name == "x-part-3.mcap"


def test_practices_lie_among_the_documents(monkeypatch):
    monkeypatch.setattr("platformdirs.user_documents_dir", lambda: str(Path("home", "Documents")))
    assert default_folder() == Path("home", "Documents", "Pitchbend")


def test_channels_are_named_again_and_say_which_they_renew(tmp_path):
    events = [*introductions(), *packets(10.0)]
    with Recorder(tmp_path / "a.mcap", renew_ns=3_000_000_000) as recorder:
        write_all(recorder, events)
    assert list(read_events(tmp_path / "a.mcap")) == events
    with (tmp_path / "a.mcap").open("rb") as file:
        channels = make_reader(file).get_summary().channels.values()
    club = [c for c in channels if c.topic.endswith(CLUB)]
    assert [c.metadata.get("renews") for c in club] == [None, "3", "3,6", "3,9"]
    assert {c.metadata["role"] for c in club} == {"club"}
