"""A practice that the program was killed in comes into the store by itself when the next one ends."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from sensors.errors import RecordingError
from sensors.record.reader import read_events

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = """
import sys
from itertools import islice
from pathlib import Path
from sensors.record.reader import read_events
from server.bays.spec import BaySpec
from server.cli.demo_recording import demo_recording
from server.run import serve
from server.storing.storing import Storing
from tests.live_service import HandSource, LIVE

source = HandSource()
source.feed(*islice(read_events(demo_recording()), int(sys.argv[2])))
serve([BaySpec(make_source=lambda: source, view=LIVE, record_to=Path(sys.argv[1]), storing=Storing())], port=0,
      open_browser=False)
"""
TWO_SWINGS, NO_SWING = 2700, 400


def n_recorded(recording):
    try:
        return sum(1 for _ in read_events(recording))
    except (OSError, RecordingError):  # not begun
        return 0


@contextmanager
def recorded(recording, n_events):
    """The program, once so many events are in its recording."""
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, str(recording), str(n_events)], cwd=ROOT, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, env=os.environ | {"PYTHONUNBUFFERED": "1"},
    )  # fmt: skip
    try:
        assert "Pitchbend is at" in process.stdout.readline()
        while n_recorded(recording) < n_events:
            assert process.poll() is None
            time.sleep(0.1)
        yield process
    finally:
        process.kill()
        process.communicate()


@pytest.mark.skipif(os.name == "nt", reason="Windows has no signals to send to one process")
def test_a_killed_practice_is_taken_up_when_the_next_one_ends(tmp_path):
    data = tmp_path / "data" / "pitchbend"
    killed = tmp_path / "killed.mcap"
    with recorded(killed, TWO_SWINGS):
        pass
    assert len(list((data / "to-store").glob("*.json"))) == 1
    assert not (data / "practices.sqlite").exists()
    with recorded(tmp_path / "next.mcap", NO_SWING) as process:
        process.send_signal(signal.SIGINT)
        said, _ = process.communicate(timeout=120)
    assert process.returncode == 0, said
    assert "It is in the store" in said
    assert f"{tmp_path / 'next.mcap'} is not in the store: nobody swings in it." in said
    with closing(sqlite3.connect(data / "practices.sqlite")) as store:
        stored = store.execute(
            "SELECT recording.path, count(rep.id) FROM recording JOIN rep ON rep.practice_id = recording.practice_id "
            "GROUP BY recording.id"
        ).fetchall()
    assert stored == [(str(killed), 2)]
    assert list((data / "to-store").glob("*.json")) == []
