from __future__ import annotations

import re
import struct
import tracemalloc
import zlib
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from mcap.stream_reader import breakup_chunk
from mcap.writer import CompressionType, Writer
from record_samples import CLUB, WALL_NS, introductions, packets, practice

from sensors.errors import NotARecording, RecordingError, UnsupportedRecording
from sensors.events import RawPacket, SensorInfo
from sensors.record import salvage
from sensors.record.reader import ReadReport, read_events, read_head
from sensors.record.writer import Recorder

EVENTS = practice(10.0)


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    path = tmp_path_factory.mktemp("sound") / "a.mcap"
    with Recorder(path, wall_clock_ns=lambda: WALL_NS) as recorder:
        for event in EVENTS:
            recorder.write(event)
    return path.read_bytes()


def read(tmp_path, data):
    path = tmp_path / "b.mcap"
    path.write_bytes(data)
    report = ReadReport()
    return list(read_events(path, report=report)), report


def chunk_starts(data):
    """Where each chunk record begins, found by walking the file from record to record."""
    position, starts = 8, []
    while position < len(data) - 8:
        opcode, length = struct.unpack_from("<BQ", data, position)
        if opcode == 6:
            starts.append(position)
        position += 9 + length
    return starts


def chunk_with(data, *parts):
    """Where the first chunk that holds all these bytes begins."""
    starts = chunk_starts(data)
    for start in starts:
        (length,) = struct.unpack_from("<Q", data, start + 1)
        if all(part in data[start : start + 9 + length] for part in parts):
            return start
    raise LookupError(parts)


def test_a_chunk_is_taken_apart_as_the_library_does_it(sound):
    for start in chunk_starts(sound):
        (length,) = struct.unpack_from("<Q", sound, start + 1)
        chunk = salvage.parse_record(6, sound[start + 9 : start + 9 + length])
        assert salvage.chunk_records(chunk) == breakup_chunk(chunk) != []
        for short in (replace(chunk, data=chunk.data[:-1]), replace(chunk, data=chunk.data + b"\x05")):
            assert salvage.chunk_records(short) is None


def flipped(data, position, bit=0):
    out = bytearray(data)
    out[position] ^= 1 << bit
    return bytes(out)


def is_subsequence(part, whole):
    rest = iter(whole)
    return all(event in rest for event in part)


@pytest.mark.parametrize(
    ("make", "clause"),
    [
        (lambda p: None, "there is no such file"),
        (lambda p: p.mkdir(), "it is a folder"),
        (lambda p: p.write_bytes(b""), "it is empty"),
        (lambda p: p.write_bytes(b"ID3 some song"), "it is not a Pitchbend recording"),
        (lambda p: p.write_bytes(salvage.MAGIC), "it was cut off before anything was recorded"),
    ],
)
def test_what_is_no_recording_says_why(tmp_path, make, clause):
    make(tmp_path / "x.mcap")
    for reading in (read_events, read_head):
        with pytest.raises(NotARecording) as caught:
            reading(tmp_path / "x.mcap")
        assert caught.value.problem == clause
        assert caught.value.path == tmp_path / "x.mcap"


def test_a_path_that_no_file_can_have(tmp_path):
    with pytest.raises(RecordingError):
        read_events(Path("a\0b"))


def foreign(path, profile="", metadata=None, compression=CompressionType.NONE):
    with path.open("wb") as file:
        writer = Writer(file, compression=compression)
        writer.start(profile=profile)
        if metadata is not None:
            writer.add_metadata("pitchbend", metadata)
        channel = writer.register_channel("/events", "json", 0)
        other = writer.register_channel("/weather", "json", 0)
        writer.add_message(channel, 0, b'{"type": "weather"}', 0)
        writer.add_message(channel, 0, b'{"type": "move_start"}', 0)
        writer.add_message(other, 0, b"{}", 0)
        writer.finish()
    return path


def test_an_mcap_file_of_another_program(tmp_path):
    with pytest.raises(NotARecording, match="another program"):
        read_events(foreign(tmp_path / "x.mcap"))


def test_a_newer_format(tmp_path):
    with pytest.raises(UnsupportedRecording, match="newer version"):
        read_events(foreign(tmp_path / "x.mcap", "pitchbend", {"format_version": "2"}))


def test_a_recompressed_recording(tmp_path):
    with pytest.raises(UnsupportedRecording, match="compressed"):
        read_events(foreign(tmp_path / "x.mcap", "pitchbend", {"format_version": "1"}, CompressionType.ZSTD))


@pytest.mark.parametrize("version", ["1", "", "one", "9" * 5000])
def test_odd_versions_and_unknown_messages_are_survived(tmp_path, version):
    path = foreign(tmp_path / "x.mcap", "pitchbend", {"format_version": version})
    if version.startswith("9"):
        with pytest.raises(UnsupportedRecording):
            read_events(path)
        return
    report = ReadReport()
    assert list(read_events(path, report=report)) == []
    assert (report.n_unknown_messages, report.n_malformed) == (2, 1)


def test_a_cut_anywhere_keeps_all_that_came_whole_before(tmp_path, sound):
    starts = chunk_starts(sound)
    for n, start in enumerate(starts):
        events, report = read(tmp_path, sound[: start + 100])
        assert events == EVENTS[: len(events)]
        assert report.truncated
        assert report.n_damaged_chunks == 0
        assert len(events) >= n


def test_a_cut_in_the_index_loses_nothing(tmp_path, sound):
    events, report = read(tmp_path, sound[:-40])
    assert events == EVENTS
    assert report.is_clean


@pytest.mark.parametrize("offset", [0, 1, 5, 8, 33, 37, 200, 3000])
def test_one_changed_bit_costs_one_chunk_and_is_counted(tmp_path, sound, offset):
    """Opcode, length, sizes, checksum, compression name, data: whatever the bit belongs to."""
    target = chunk_starts(sound)[12]
    events, report = read(tmp_path, flipped(sound, target + offset))
    missing = len(EVENTS) - len(events)
    assert 10 < missing < 40
    assert is_subsequence(events, EVENTS)
    assert events[-1] == EVENTS[-1]
    assert report.n_damaged_chunks == 1
    assert 0.3 < report.lost_s < 1.0
    assert not report.truncated
    assert not report.is_clean


@pytest.mark.parametrize("offset", [9, 17, 25])
def test_a_changed_bit_in_what_is_not_needed_costs_nothing(tmp_path, sound, offset):
    """The chunk's own times and its uncompressed size."""
    events, report = read(tmp_path, flipped(sound, chunk_starts(sound)[12] + offset))
    assert events == EVENTS
    assert report.is_clean


def test_several_damaged_stretches_are_counted_apart(tmp_path, sound):
    starts = chunk_starts(sound)
    events, report = read(tmp_path, flipped(flipped(sound, starts[10] + 99), starts[14] + 99))
    assert report.n_damaged_chunks == 2
    assert 0.6 < report.lost_s < 2.0
    assert is_subsequence(events, EVENTS)


def test_damage_to_the_last_chunk_and_to_the_end_mark(tmp_path, sound):
    last = chunk_starts(sound)[-1]
    events, report = read(tmp_path, flipped(sound, last + 60))
    assert events == EVENTS[: len(events)]
    assert 0 < len(EVENTS) - len(events) < 40
    assert (report.n_damaged_chunks, report.truncated) == (1, False)
    events, report = read(tmp_path, flipped(sound, len(sound) - 1))
    assert events == EVENTS
    assert report.is_clean


@pytest.mark.parametrize("is_cut", [False, True])
def test_losing_a_channels_own_chunk_does_not_lose_its_packets(tmp_path, sound, is_cut):
    """The end of the file repeats the channels; when that is missing too, what cannot be read is counted."""
    first_packets = chunk_with(sound, b"/packets/")
    data = flipped(sound, first_packets + 80)
    events, report = read(tmp_path, data[:-40] if is_cut else data)
    n_packets = sum(isinstance(event, RawPacket) for event in events)
    if is_cut:
        assert n_packets == 0
        assert report.n_unknown_messages > 300
    else:
        assert n_packets > 300
        assert report.n_unknown_messages == 0
    assert is_subsequence(events, EVENTS)


def test_a_lost_introduction_is_restored_from_the_channel(tmp_path, sound):
    club = chunk_with(sound, b'"sensor_info"', CLUB.encode())
    events, report = read(tmp_path, flipped(sound, club + 70))
    assert report.n_reintroduced == 1
    (restored,) = (e for e in events if isinstance(e, SensorInfo) and e.sensor == CLUB)
    (original,) = (e for e in EVENTS if isinstance(e, SensorInfo) and e.sensor == CLUB)
    assert (restored.role, restored.profile, restored.name) == (original.role, original.profile, original.name)
    first = next(i for i, e in enumerate(events) if isinstance(e, RawPacket) and e.sensor == CLUB)
    assert events[first - 1] is restored


def test_without_damage_nothing_is_restored(tmp_path):
    path = tmp_path / "a.mcap"
    events = [*packets(1.0)]
    with Recorder(path) as recorder:
        for event in events:
            recorder.write(event)
    assert list(read_events(path)) == events


def test_a_chunk_of_nonsense_with_a_right_checksum_is_damage(tmp_path, sound):
    nonsense = b"\x05" + struct.pack("<Q", 2**60) + b"abc"
    chunk = struct.pack("<QQQIIQ", 0, 0, len(nonsense), zlib.crc32(nonsense), 0, len(nonsense)) + nonsense
    start = chunk_starts(sound)[12]
    data = sound[:start] + struct.pack("<BQ", 6, len(chunk)) + chunk + sound[start:]
    events, report = read(tmp_path, data)
    assert events == EVENTS
    assert report.n_damaged_chunks == 1


def test_a_hole_of_zeros_is_bridged(tmp_path, sound):
    starts = chunk_starts(sound)
    data = sound[: starts[10] + 30] + bytes(300_000) + sound[starts[14] + 30 :]
    events, report = read(tmp_path, data)
    assert is_subsequence(events, EVENTS)
    assert report.n_damaged_chunks >= 1
    assert events[-1] == EVENTS[-1]


def test_look_alikes_of_a_chunk_cost_little(tmp_path, sound):
    """A megabyte of bytes that look like the beginning of huge chunks is passed over, not read again and again."""
    start = chunk_starts(sound)[12]
    bait = (b"\x06\xff\xff\xff\x00\x00\x00\x00\x00" + bytes(7)) * 65536
    events, report = read(tmp_path, sound[:start] + bait + sound[start:])
    assert events == EVENTS
    assert report.n_damaged_chunks == 1


def test_memory_does_not_grow_with_the_recording(tmp_path):
    def peak(seconds):
        path = tmp_path / f"{seconds}.mcap"
        with Recorder(path) as recorder:
            for event in [*introductions(), *packets(seconds)]:
                recorder.write(event)
        tracemalloc.start()
        for _ in read_events(path):
            pass
        _, high = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        return high

    peak(5)  # imports and caches
    assert peak(120) < peak(20) + 20_000


def test_reading_can_be_left_early(tmp_path, sound):
    path = tmp_path / "a.mcap"
    path.write_bytes(sound)
    events = read_events(path)
    assert next(events) == EVENTS[0]
    events.close()
    path.unlink()


PAYLOADS = {(e.sensor, e.arrival_ns): e.payload for e in EVENTS if isinstance(e, RawPacket)}


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    flips=st.lists(st.tuples(st.floats(0, 1, exclude_max=True), st.integers(0, 7)), max_size=12),
    cut=st.none() | st.floats(0, 1),
    inserted=st.none() | st.tuples(st.floats(0, 1), st.binary(max_size=40)),
    head=st.booleans(),
)
def test_no_bytes_whatever_give_a_wrong_packet(tmp_path, sound, flips, cut, inserted, head):
    """Flips, cuts and stray bytes, spread over the file or crowded at its beginning."""
    span = 600 if head else len(sound)
    data = bytearray(sound)
    for where, bit in flips:
        data[int(where * span)] ^= 1 << bit
    if inserted is not None:
        where, extra = inserted
        at = int(where * span)
        data[at:at] = extra
    if cut is not None:
        del data[int(cut * len(data)) :]
    path = tmp_path / "c.mcap"
    path.write_bytes(data)
    try:
        for event in read_events(path):
            if isinstance(event, RawPacket):
                assert PAYLOADS[event.sensor, event.arrival_ns] == event.payload
            else:
                assert event in EVENTS or isinstance(event, SensorInfo)
    except RecordingError:
        pass


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.binary(max_size=400), prefix=st.sampled_from([0, 8, 60, 400]))
def test_arbitrary_bytes_raise_nothing_unexpected(tmp_path, sound, data, prefix):
    path = tmp_path / "d.mcap"
    path.write_bytes(sound[:prefix] + data)
    try:
        list(read_events(path))
    except RecordingError as error:
        problem = error.problem
    else:
        problem = "none"
    assert re.fullmatch(r"[a-z][^.]*", problem)
