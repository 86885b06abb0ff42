from __future__ import annotations

import pytest
from record_samples import practice

from sensors.errors import RecorderError
from sensors.record.background import TapeStatus
from sensors.record.reader import read_events
from server.tape import Tape


def test_without_a_path_nothing_happens():
    tape = Tape(None)
    tape.write(practice(0.1)[0])
    assert not tape.is_on
    assert tape.close() == tape.status == TapeStatus()


def test_what_is_written_is_read_back(tmp_path):
    tape = Tape(tmp_path / "a.mcap")
    assert tape.is_on
    events = practice(1.0)
    for event in events:
        tape.write(event)
    status = tape.close()
    assert status.paths == (tmp_path / "a.mcap",)
    assert status == tape.close() == tape.status
    assert list(read_events(tmp_path / "a.mcap")) == events


def test_a_practice_without_packets_leaves_no_file(tmp_path):
    tape = Tape(tmp_path / "a.mcap")
    tape.write(practice(0.1)[0])
    assert (tmp_path / "a.mcap").exists()
    assert tape.close().paths == ()
    assert not (tmp_path / "a.mcap").exists()


def test_a_file_that_cannot_be_begun_is_told_at_once(tmp_path):
    (tmp_path / "a.mcap").touch()
    with pytest.raises(RecorderError):
        Tape(tmp_path / "a.mcap")
