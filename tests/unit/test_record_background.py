"""The writing thread: order, the second's promise, disks that fill up, hang, come back and go away."""

from __future__ import annotations

import errno
import os
import threading
import time
from dataclasses import replace

import pytest
from record_samples import CLUB, FOREARM, START_NS, introductions, packet, packets, practice

from sensors.errors import RecordingError
from sensors.events import (
    BatteryLevel,
    DrillSet,
    MoveStart,
    PauseSet,
    PlayerSet,
    RawPacket,
    RecordingResumed,
    SensorInfo,
)
from sensors.record.background import LEAST_FREE_BYTES, BackgroundRecorder
from sensors.record.backlog import Backlog
from sensors.record.disk_room import USUAL_BYTES_S, minutes_left
from sensors.record.disk_sync import DiskSync
from sensors.record.reader import ReadReport, read_events, read_head
from sensors.record.restate import Restated
from sensors.record.sink import RecordSink
from sensors.record.tape_file import TapeFile

PLENTY = 10**12


def until(condition, seconds=20.0):
    """Another thread does it; it is not a matter of how fast."""
    deadline_s = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < deadline_s
        time.sleep(0.002)


def feed(recorder, events):
    for event in events:
        recorder.write(event)


def on_disk(path):
    return list(read_events(path))


def until_written(path, n_events):
    """The operating system has so many events of a file."""

    def are_there():
        try:
            return len(on_disk(path)) >= n_events
        except RecordingError:  # not even its head
            return False

    until(are_there)


N_INTRODUCTIONS = len(introductions())


class Disk:
    """Stands before the sink: works, is full, or hangs until it is let go."""

    def __init__(self, monkeypatch):
        self.error: int | None = None
        self.let_go = threading.Event()
        self.let_go.set()
        write = RecordSink.write

        def answer(sink, data):
            self.let_go.wait()
            if self.error is not None:
                raise OSError(self.error, os.strerror(self.error))
            return write(sink, data)

        monkeypatch.setattr(RecordSink, "write", answer)


@pytest.fixture
def disk(monkeypatch):
    disk = Disk(monkeypatch)
    yield disk
    disk.let_go.set()


def test_everything_is_written_in_order_and_finished(tmp_path):
    recorder = BackgroundRecorder(tmp_path / "a.mcap")
    events = practice(30.0)
    feed(recorder, events)
    status = recorder.close()
    report = ReadReport()
    assert list(read_events(tmp_path / "a.mcap", report=report)) == events
    assert report.is_clean
    assert (status.paths, status.error, status.n_held, status.n_missed) == ((tmp_path / "a.mcap",), None, 0, 0)


def test_packets_reach_the_system_though_nothing_follows(tmp_path):
    """A few packets and then silence: they do not wait for the next event."""
    recorder = BackgroundRecorder(tmp_path / "a.mcap")
    events = [*introductions(), *packets(0.1)]
    feed(recorder, events)
    until_written(tmp_path / "a.mcap", len(events))
    assert on_disk(tmp_path / "a.mcap") == events
    recorder.close()


@pytest.mark.parametrize("trouble", [errno.ENOSPC, errno.EROFS, errno.EIO, errno.EDQUOT])
def test_a_full_disk_loses_nothing_and_the_rest_goes_into_a_second_file(tmp_path, disk, trouble):
    recorder = BackgroundRecorder(tmp_path / "a.mcap", retry_s=0.005, free=lambda _: PLENTY)
    events = [*introductions(), *packets(10.0)]
    feed(recorder, events[:200])
    until_written(tmp_path / "a.mcap", 200)
    until(lambda: recorder._file._since_s is None)  # a flush cut in two gives its events to the second file as well
    disk.error = trouble
    feed(recorder, events[200:300])
    until(lambda: recorder.status.path is None)
    assert recorder.status.error.cause.errno == trouble
    feed(recorder, events[300:350])
    disk.error = None
    until(lambda: recorder.status.path is not None)
    feed(recorder, events[350:])
    status = recorder.close()
    first, second = status.paths
    assert (first.name, second.name) == ("a.mcap", "a-part-2.mcap")
    report = ReadReport()
    kept = list(read_events(first, report=report))
    assert report.truncated
    assert not report.n_damaged_chunks
    rest = on_disk(second)
    mark = next(i for i, event in enumerate(rest) if isinstance(event, RecordingResumed))
    assert kept + rest[mark + 1 :] == events
    assert {type(event) for event in rest[:mark]} >= {PlayerSet, SensorInfo, BatteryLevel}
    assert {event.arrival_ns for event in rest[: mark + 1]} == {rest[mark + 1].arrival_ns}
    assert read_head(second).notes["continues"] == "a.mcap"
    assert (status.n_held, status.n_missed) == (0, 0)


def test_no_second_file_is_begun_where_there_is_no_room(tmp_path, disk):
    room = LEAST_FREE_BYTES - 1
    recorder = BackgroundRecorder(tmp_path / "a.mcap", retry_s=0.002, free=lambda _: room)
    feed(recorder, introductions())
    until_written(tmp_path / "a.mcap", N_INTRODUCTIONS)
    disk.error = errno.ENOSPC
    feed(recorder, packets(2.0))
    until(lambda: recorder.status.path is None)
    disk.error = None
    time.sleep(0.05)  # some tries
    assert list(tmp_path.iterdir()) == [tmp_path / "a.mcap"]
    room = LEAST_FREE_BYTES
    until(lambda: recorder.status.path is not None)
    assert len(recorder.close().paths) == 2


def test_a_folder_that_is_gone_is_left_for_the_fallback(tmp_path):
    stick = tmp_path / "stick"
    recorder = BackgroundRecorder(stick / "2026-05-03" / "a.mcap", fallback=tmp_path / "own", retry_s=0.005)
    feed(recorder, introductions())
    until_written(stick / "2026-05-03" / "a.mcap", N_INTRODUCTIONS)
    for path in (stick / "2026-05-03" / "a.mcap", stick / "2026-05-03", stick):
        path.unlink() if path.is_file() else path.rmdir()
    body = packets(3.0)
    feed(recorder, body)
    status = recorder.close()
    assert status.path == tmp_path / "own" / "2026-05-03" / "a-part-2.mcap"
    rest = on_disk(status.path)
    assert rest[-len(body) :] == body
    assert not stick.exists()


def test_a_file_deleted_while_writing_goes_on_beside(tmp_path):
    recorder = BackgroundRecorder(tmp_path / "day" / "a.mcap", retry_s=0.005)
    feed(recorder, introductions())
    until_written(tmp_path / "day" / "a.mcap", N_INTRODUCTIONS)
    (tmp_path / "day" / "a.mcap").unlink()
    feed(recorder, packets(2.0))
    status = recorder.close()
    assert status.path == tmp_path / "day" / "a-part-2.mcap"
    assert [e for e in on_disk(status.path) if isinstance(e, RawPacket)] == packets(2.0)


def test_a_hanging_disk_holds_nothing_up_and_what_finds_no_room_is_a_recorded_gap(tmp_path, disk):
    recorder = BackgroundRecorder(tmp_path / "a.mcap", max_events=600)
    feed(recorder, introductions())
    until_written(tmp_path / "a.mcap", N_INTRODUCTIONS)
    disk.let_go.clear()
    body = packets(30.0)
    feed(recorder, body[:60])  # 1.5 s: the thread is now stuck in a write
    until(lambda: recorder.status.stalled_s > 0.0)
    feed(recorder, body[60:1000])  # and this does not wait
    move = MoveStart(arrival_ns=body[1000].arrival_ns, move="still")
    recorder.write(move)  # packets have no place left, a move has
    status = recorder.status
    assert status.n_missed > 0
    assert status.stalled_s > 0.0
    disk.let_go.set()
    until(lambda: recorder.status.n_held == 0)
    feed(recorder, body[1001:])
    status = recorder.close()
    events = on_disk(tmp_path / "a.mcap")
    (gap,) = (event for event in events if isinstance(event, RecordingResumed))
    assert gap.n_missed == status.n_missed
    at = events.index(gap)
    assert events[at + 1] == move
    written = [event for event in events if isinstance(event, RawPacket)]
    assert len(written) + gap.n_missed == len(body) - 1
    assert [event for event in body if event in written] == written
    assert gap.missed_s == pytest.approx(0.05 * (gap.n_missed / 2 - 1), abs=0.06)


def test_a_disk_that_hangs_for_ever_is_given_up_at_the_end(tmp_path, disk):
    recorder = BackgroundRecorder(tmp_path / "a.mcap")
    feed(recorder, introductions())
    until_written(tmp_path / "a.mcap", N_INTRODUCTIONS)
    before = on_disk(tmp_path / "a.mcap")
    disk.let_go.clear()
    feed(recorder, packets(3.0))
    until(lambda: recorder.status.stalled_s > 0.0)
    status = recorder.close(timeout_s=0.01)
    assert status.stalled_s > 0.0
    assert status.n_held > 0
    assert on_disk(tmp_path / "a.mcap") == before


def test_a_disk_that_is_full_at_the_end_says_what_is_lost(tmp_path, disk):
    recorder = BackgroundRecorder(tmp_path / "a.mcap", free=lambda _: 0)
    feed(recorder, [*introductions(), *packets(1.0)])
    until_written(tmp_path / "a.mcap", N_INTRODUCTIONS + 40)
    until(lambda: recorder.status.stalled_s == 0.0)  # a chunk whose index fails is on the disk, and held all the same
    disk.error = errno.ENOSPC
    feed(recorder, packets(2.0)[40:])
    status = recorder.close()
    assert status.path is None
    assert status.n_held + len(on_disk(tmp_path / "a.mcap")) == len(introductions()) + 80
    assert status.held_s >= 0.95


def test_a_disk_that_admits_a_failure_late_is_noticed(tmp_path):
    """The write went well, into the system's memory; putting it on the disk did not."""

    def bad_spot(_):
        raise OSError(errno.EIO, "Input/output error")

    with (tmp_path / "x").open("wb") as file:
        sync = DiskSync(file.fileno(), tmp_path, every_s=0.001, sync=bad_spot)
        until(lambda: sync.error is not None)
    assert sync.error.errno == errno.EIO
    assert sync.n_syncs == 0


def test_syncing_goes_on_until_it_is_stopped(tmp_path):
    with (tmp_path / "x").open("wb") as file:
        sync = DiskSync(file.fileno(), tmp_path, every_s=0.001)
        until(lambda: sync.n_syncs > 2)
        sync.stop()
    assert sync.error is None


def test_a_late_failure_moves_the_recording(tmp_path, monkeypatch):
    recorder = BackgroundRecorder(tmp_path / "a.mcap", retry_s=0.005)
    feed(recorder, introductions())
    until_written(tmp_path / "a.mcap", N_INTRODUCTIONS)
    recorder._file._sync.error = OSError(errno.EIO, "Input/output error")
    feed(recorder, packets(1.0))
    until(lambda: len(recorder.status.paths) == 2)
    status = recorder.close()
    assert status.error.cause.errno == errno.EIO
    assert [e for e in on_disk(status.path) if isinstance(e, RawPacket)] == packets(1.0)


def test_room_on_the_disk_is_told_in_minutes(tmp_path):
    recorder = BackgroundRecorder(tmp_path / "a.mcap", free=lambda _: int(600 * USUAL_BYTES_S))
    feed(recorder, [*introductions(), *packets(0.5)])
    until(lambda: recorder.status.minutes_left is not None)
    assert recorder.status.minutes_left == pytest.approx(10.0)
    recorder.close()
    assert minutes_left(6_000_000, 1_000_000, 100.0) == pytest.approx(10.0)
    assert minutes_left(int(600 * USUAL_BYTES_S), 1_000, 3600.0) == pytest.approx(10.0)


def test_a_backlog_keeps_order_when_something_is_given_back():
    backlog = Backlog(max_events=1000)
    events = packets(1.0)
    for event in events:
        backlog.put(event)
    taken = [backlog.take(0.0) for _ in range(5)]
    backlog.give_back(taken)
    assert [backlog.take(0.0) for _ in events] == events
    assert backlog.take(0.0) is None
    with pytest.raises(ValueError, match="exceed"):
        Backlog(max_events=10)


def test_what_is_restated_is_the_newest_of_each_kind():
    restated = Restated()
    older = BatteryLevel(arrival_ns=START_NS, sensor=CLUB, battery_pct=90)
    paused = PauseSet(arrival_ns=START_NS, paused=True)
    drill = DrillSet(arrival_ns=START_NS, text="a drill")
    for event in [older, *introductions(), drill, paused, packet(FOREARM, 1, START_NS)]:
        restated.note(event)
    opening = restated.opening(5)
    kinds = [(type(event).__name__, getattr(event, "sensor", "")) for event in opening]
    assert kinds[0] == ("PlayerSet", "")
    assert kinds[-1] == ("RecordingResumed", "")
    assert kinds.index(("SensorInfo", CLUB)) < kinds.index(("BatteryLevel", CLUB)) < kinds.index(("LinkChange", CLUB))
    assert replace(older, arrival_ns=5, battery_pct=88) in opening
    assert replace(paused, arrival_ns=5) in opening
    assert replace(drill, arrival_ns=5) in opening
    assert all(event.arrival_ns == 5 for event in opening)


def test_a_bug_in_the_thread_is_seen_by_whoever_writes(tmp_path, monkeypatch):
    def bug(*_):
        raise ZeroDivisionError

    recorder = BackgroundRecorder(tmp_path / "a.mcap")
    monkeypatch.setattr(TapeFile, "write", bug)
    recorder.write(introductions()[0])
    until(lambda: not recorder._thread.is_alive())
    with pytest.raises(ZeroDivisionError):
        recorder.write(introductions()[1])
    with pytest.raises(ZeroDivisionError):
        recorder.close()
