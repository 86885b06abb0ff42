"""Recovering, judged by the independent reader of the `mcap` library: what is made opens there, checksums and index included."""

from __future__ import annotations

import errno
import struct

import pytest
from mcap.reader import make_reader
from mcap.writer import Writer
from record_samples import CLUB, FOREARM, START_NS, WALL_NS, practice
from typer.testing import CliRunner

from sensors.errors import NotARecording, RecorderError, RecordingError
from sensors.events import MoveStart, RawPacket, RecordingResumed, SensorInfo
from sensors.ids import Move
from sensors.record.reader import ReadReport, read_events, read_head
from sensors.record.recover import recover
from sensors.record.restate import Restated
from sensors.record.writer import Recorder
from server.cli import main
from server.cli.failures import CommandFailed

EVENTS = practice(60.0)


def record(path, events, *, wall_ns=WALL_NS, notes=None):
    with Recorder(path, wall_clock_ns=lambda: wall_ns, renew_ns=5_000_000_000, notes=notes) as recorder:
        for event in events:
            recorder.write(event)
    return path


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    return record(tmp_path_factory.mktemp("sound") / "a.mcap", EVENTS, notes={"place": "Hollow Fen"}).read_bytes()


@pytest.fixture
def damaged(tmp_path):
    """Writes bytes to a file, and sees to it that nobody changed them."""
    path = tmp_path / "damaged.mcap"
    written = []

    def write(data):
        path.write_bytes(data)
        written.append(bytes(data))
        return path

    yield write
    assert path.read_bytes() == written[-1]


def chunks(data):
    """Where each chunk begins and ends, by walking the records."""
    position, out = 8, []
    while position < len(data) - 8:
        opcode, length = struct.unpack_from("<BQ", data, position)
        if opcode == 6:
            out.append((position, position + 9 + length))
        position += 9 + length
    return out


def saved(path):
    """All events, as our reader gives them; and the library's own reader must read the same file whole."""
    report = ReadReport()
    events = list(read_events(path, report=report))
    assert report.is_clean
    with path.open("rb") as file:
        reader = make_reader(file, validate_crcs=True)
        summary = reader.get_summary()
        assert summary is not None
        assert summary.statistics.message_count == len(events)
        by_library = [message.publish_time for _, _, message in reader.iter_messages(log_time_order=False)]
    assert by_library == [event.arrival_ns for event in events]
    return events


def test_a_cut_file(damaged, sound, tmp_path):
    out = tmp_path / "out.mcap"
    recovery = recover([damaged(sound[: len(sound) // 2])], out)
    events = saved(out)
    assert events == EVENTS[: len(events)]
    assert 0.45 < len(events) / len(EVENTS) < 0.55
    assert recovery.parts[0].report.truncated
    assert recovery.last_ns == events[-1].arrival_ns
    head = read_head(out)
    assert head.created == "2026-09-21T14:13:20+00:00"
    assert (head.wall_start_ns, head.host_start_ns) == (WALL_NS, START_NS)
    assert head.notes == {"place": "Hollow Fen", "recovered from": "damaged.mcap"}


def test_flipped_bits_lose_their_chunk_and_are_told_from_when_to_when(damaged, sound, tmp_path):
    data = bytearray(sound)
    (start, end), (start2, end2) = chunks(sound)[20], chunks(sound)[50]
    data[(start + end) // 2] ^= 1
    data[(start2 + end2) // 2] ^= 128
    recovery = recover([damaged(data)], tmp_path / "out.mcap")
    events = saved(tmp_path / "out.mcap")
    first, second = recovery.parts[0].report.lost
    gone = [event.arrival_ns for event in EVENTS if event not in events]
    in_first = [ns for ns in gone if first.start_ns < ns < first.end_ns]
    in_second = [ns for ns in gone if second.start_ns < ns < second.end_ns]
    assert in_first
    assert in_second
    assert len(in_first) + len(in_second) == len(gone)
    assert first.seconds < 1.0


def test_without_index_and_end(damaged, sound, tmp_path):
    recover([damaged(sound[: chunks(sound)[-1][1]])], tmp_path / "out.mcap")
    assert saved(tmp_path / "out.mcap") == EVENTS


@pytest.mark.parametrize("n_bytes", [1, 8, 300, 5000, 60_000])
@pytest.mark.parametrize("is_cut", [False, True])
def test_a_beginning_written_over(damaged, sound, tmp_path, n_bytes, is_cut):
    """Also without the end: the sensors are named again every few seconds, so the first loss is the only one."""
    data = b"\xee" * n_bytes + sound[n_bytes:]
    recovery = recover([damaged(data[:-3000] if is_cut else data)], tmp_path / "out.mcap")
    events = saved(tmp_path / "out.mcap")
    assert recovery.parts[0].head_was_lost
    left = [e for e in events if isinstance(e, RawPacket)]
    assert left == [e for e in EVENTS if e in left]
    n_all = sum(isinstance(event, RawPacket) for event in EVENTS)
    assert len(left) > n_all * (1 - 1.15 * (n_bytes + 5000 + 6000 * is_cut) / len(sound))
    assert {event.sensor for event in events if isinstance(event, SensorInfo)} == {FOREARM, CLUB}
    assert read_head(tmp_path / "out.mcap").wall_start_ns - events[0].arrival_ns == WALL_NS - START_NS


def test_a_hole_of_zeros_and_of_another_recording(damaged, sound, tmp_path):
    """A disk that was pulled out can give a file's middle to another file, sound checksums and all."""
    other = record(tmp_path / "other.mcap", practice(60.0), wall_ns=WALL_NS + 1).read_bytes()
    data = bytearray(sound)
    data[100_000:120_000] = bytes(20_000)
    data[200_000:230_000] = other[100_000:130_000]
    recovery = recover([damaged(data)], tmp_path / "out.mcap")
    events = saved(tmp_path / "out.mcap")
    assert recovery.parts[0].report.n_foreign_chunks > 3
    assert len(recovery.parts[0].report.lost) == 2
    rest = iter(EVENTS)
    assert all(event in rest for event in events)


def test_events_are_read_though_nothing_names_their_channel_any_more(damaged, tmp_path):
    """An imported or older file, in which channels stand once at the beginning, and which was cut: the fit moves count."""
    path = tmp_path / "a.mcap"
    moves = [MoveStart(arrival_ns=event.arrival_ns, move=Move.ROLL) for event in EVENTS[500:600:50]]
    events = sorted([*EVENTS, *moves], key=lambda event: event.arrival_ns)
    with Recorder(path) as recorder:
        for event in events:
            recorder.write(event)
    data = path.read_bytes()
    head = data.index(next(event for event in events if isinstance(event, RawPacket)).payload)
    recovery = recover([damaged(b"\xee" * head + data[head:-5000])], tmp_path / "out.mcap")
    assert [event for event in saved(tmp_path / "out.mcap") if isinstance(event, MoveStart)] == moves
    assert recovery.parts[0].report.n_unknown_messages > 1000


def test_two_parts_become_one_practice(tmp_path):
    cut = len(EVENTS) // 2
    first = record(tmp_path / "a.mcap", EVENTS[:cut])
    restated = Restated()
    for event in EVENTS[:cut]:
        restated.note(event)
    opening = restated.opening(EVENTS[cut].arrival_ns)
    second = record(tmp_path / "a-part-2.mcap", [*opening, *EVENTS[cut:]], notes={"continues": "a.mcap"})
    recovery = recover([first, second], tmp_path / "out.mcap")
    assert saved(tmp_path / "out.mcap") == EVENTS
    assert [part.is_clean for part in recovery.parts] == [True, True]
    with pytest.raises(RecordingError, match=r"does not go on where a-part-2\.mcap stops"):
        recover([second, first], tmp_path / "wrong.mcap")
    with pytest.raises(RecordingError, match=r"does not go on where a-part-2\.mcap stops"):
        recover([first, second, second], tmp_path / "wrong-too.mcap")  # from the same moment twice


def test_a_part_whose_mark_is_lost_is_kept_whole(tmp_path):
    cut = len(EVENTS) // 2
    first = record(tmp_path / "a.mcap", EVENTS[:cut])
    second = record(tmp_path / "b.mcap", EVENTS[cut:], notes={"continues": "a.mcap"})
    recover([first, second], tmp_path / "out.mcap")
    assert saved(tmp_path / "out.mcap") == EVENTS
    gap = RecordingResumed(arrival_ns=EVENTS[cut].arrival_ns, n_missed=7, missed_s=1.5)
    third = record(
        tmp_path / "c.mcap", [*EVENTS[cut : cut + 50], gap, *EVENTS[cut + 50 :]], notes={"continues": "a.mcap"}
    )
    recover([first, third], tmp_path / "out2.mcap")
    assert gap in saved(tmp_path / "out2.mcap")


def foreign_mcap(path):
    with path.open("wb") as file:
        writer = Writer(file)
        writer.start(profile="ros2")
        schema = writer.register_schema("s", "jsonschema", b"{}")
        channel = writer.register_channel("/x", "json", schema)
        for i in range(100):
            writer.add_message(channel, i, b"{}", i)
        writer.finish()
    return path.read_bytes()


@pytest.mark.parametrize(
    "kind", ["empty", "song", "foreign", "foreign, head gone", "nothing left", "missing", "folder"]
)
def test_what_is_not_ours_is_refused_and_leaves_nothing(tmp_path, sound, kind):
    path, out = tmp_path / "x.mcap", tmp_path / "out.mcap"
    foreign = foreign_mcap(tmp_path / "f.mcap")
    content = {
        "empty": b"",
        "song": b"ID3" + bytes(9000),
        "foreign": foreign,
        "foreign, head gone": b"\xee" * 30 + foreign[30:],
        "nothing left": b"\xee" * len(sound),
    }
    if kind == "folder":
        path.mkdir()
    elif kind != "missing":
        path.write_bytes(content[kind])
    with pytest.raises(NotARecording) as caught:
        recover([path], out)
    assert caught.value.path == path
    assert not out.exists()


def test_a_new_file_that_cannot_be_written_is_not_the_old_ones_fault(damaged, sound, tmp_path):
    (tmp_path / "file").touch()
    with pytest.raises(RecorderError) as caught:
        recover([damaged(sound)], tmp_path / "file" / "out.mcap")
    assert caught.value.cause.errno in {errno.ENOTDIR, errno.EEXIST}


def run(*words):
    return CliRunner(env={"COLUMNS": "200"}).invoke(main.app, ["recover", *map(str, words)], catch_exceptions=False)


def test_the_command_says_what_it_saved_and_what_is_lost(damaged, sound):
    data = bytearray(sound)
    (start, end) = chunks(sound)[20]
    data[(start + end) // 2] ^= 1
    path = damaged(data[: len(sound) // 2])
    result = run(path)
    out = path.with_name("damaged-recovered.mcap")
    assert result.exit_code == 0
    assert result.stdout.strip() == str(out)
    assert "Saved: 0:" in result.stderr
    assert "packets of 2 sensors" in result.stderr
    assert "Damaged in one place" in result.stderr
    assert "Lost: 0." in result.stderr
    assert "ends abruptly" in result.stderr
    saved(out)
    assert run(path).stdout.strip() == str(path.with_name("damaged-recovered-2.mcap"))


def test_a_whole_file_needs_nothing(damaged, sound, tmp_path):
    path = damaged(sound)
    result = run(path)
    assert "is whole" in result.stderr
    assert list(tmp_path.iterdir()) == [path]
    assert run(path, "-o", tmp_path / "copy.mcap").exit_code == 0
    assert saved(tmp_path / "copy.mcap") == EVENTS


def test_neither_the_original_nor_anything_else_is_ever_overwritten(damaged, sound, tmp_path):
    path = damaged(sound[:50_000])
    (tmp_path / "precious.mcap").write_bytes(b"precious")
    for out in (path, tmp_path / "precious.mcap"):
        with pytest.raises(CommandFailed, match="already a file of that name"):
            run(path, "-o", out)
    assert (tmp_path / "precious.mcap").read_bytes() == b"precious"


def test_the_command_refuses_in_a_sentence(tmp_path):
    (tmp_path / "song.mcap").write_bytes(b"la la la")
    with pytest.raises(
        CommandFailed, match=r"song.mcap cannot be recovered: no piece of a Pitchbend recording is in it\."
    ):
        run(tmp_path / "song.mcap", "-o", tmp_path / "out.mcap")
    assert not (tmp_path / "out.mcap").exists()
    with pytest.raises(CommandFailed, match="was not written"):
        run(tmp_path / "song.mcap", "-o", tmp_path / "no-such-folder" / "out.mcap")
