from __future__ import annotations

import errno

import pytest
from record_samples import practice

from sensors.errors import RecorderError
from sensors.record.reader import read_events
from sensors.record.sink import RecordSink
from server.tape import Tape


def test_without_a_path_nothing_happens():
    tape = Tape(None)
    assert tape.write(practice(0.1)[0]) is None
    assert tape.close() is None
    assert tape.path is None


def test_what_is_written_is_read_back(tmp_path):
    tape = Tape(tmp_path / "a.mcap")
    events = practice(1.0)
    assert [tape.write(event) for event in events] == [None] * len(events)
    assert tape.close() is None
    assert tape.path == tmp_path / "a.mcap"
    assert list(read_events(tape.path)) == events


def test_a_practice_without_packets_leaves_no_file(tmp_path):
    tape = Tape(tmp_path / "a.mcap")
    tape.write(practice(0.1)[0])
    assert (tmp_path / "a.mcap").exists()
    assert tape.close() is None
    assert tape.path is None
    assert not (tmp_path / "a.mcap").exists()


def test_a_file_that_cannot_be_begun_is_told_at_once(tmp_path):
    (tmp_path / "a.mcap").touch()
    with pytest.raises(RecorderError):
        Tape(tmp_path / "a.mcap")


def full_disk(*_):
    raise OSError(errno.ENOSPC, "No space left on device")


def test_a_failure_is_told_once(tmp_path, monkeypatch):
    tape = Tape(tmp_path / "a.mcap")
    events = practice(1.0)
    assert tape.write(events[0]) is None
    monkeypatch.setattr(RecordSink, "write", full_disk)
    errors = [error for event in events[1:] if (error := tape.write(event))]
    assert [error.cause.errno for error in errors] == [errno.ENOSPC]
    assert tape.path is None
    assert tape.close() is None


def test_a_failure_at_the_end_is_told_too(tmp_path, monkeypatch):
    tape = Tape(tmp_path / "a.mcap")
    for event in practice(0.2):
        tape.write(event)
    monkeypatch.setattr(RecordSink, "close", full_disk)
    error = tape.close()
    assert error is not None
    assert error.cause.errno == errno.ENOSPC
