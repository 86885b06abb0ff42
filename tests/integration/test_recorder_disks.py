"""Real disks in real trouble: a small one that fills up and is freed, one that is read-only, one that is pulled out.

A small tmpfs each, which only root may mount on Linux; elsewhere the unit tests stand in with made-up errors.
"""

from __future__ import annotations

import errno
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from sensors.events import RawPacket, RecordingResumed
from sensors.record.background import BackgroundRecorder
from sensors.record.reader import ReadReport, read_events
from server.tape_advice import end_sentences, tape_problems

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "unit"))
from record_samples import introductions, packets

ROOT = Path(__file__).resolve().parents[2]


def mount(*words):
    return subprocess.run(["mount", *words], check=False, capture_output=True).returncode == 0


@pytest.fixture
def disk(tmp_path):
    """A disk of 6 MB."""
    place = tmp_path / "disk"
    place.mkdir()
    if os.name == "nt" or not mount("-t", "tmpfs", "-o", "size=6m", "tmpfs", str(place)):
        pytest.skip("needs to mount a tmpfs")
    (place / "practices").mkdir()
    yield place
    subprocess.run(["umount", "-l", str(place)], check=False, capture_output=True)


def until(condition):
    deadline_s = time.monotonic() + 30.0
    while not condition():
        assert time.monotonic() < deadline_s
        time.sleep(0.005)


def feed(recorder, events):
    for event in events:
        recorder.write(event)


def practice_of(paths):
    """Everything in the files, without what a later one restates; the earlier ones end abruptly and nothing worse."""
    out = []
    for i, path in enumerate(paths):
        report = ReadReport()
        events = list(read_events(path, report=report))
        assert not report.n_damaged_chunks
        mark = next(n for n, e in enumerate(events) if isinstance(e, RecordingResumed)) + 1 if i else 0
        out += events[mark:]
    return out


def fill(disk, leave_bytes=0):
    usage = os.statvfs(disk)
    (disk / "ballast").write_bytes(bytes(max(0, usage.f_bavail * usage.f_frsize - leave_bytes)))


def test_a_disk_that_fills_up_and_is_freed(disk):
    recorder = BackgroundRecorder(disk / "practices" / "day" / "a.mcap", retry_s=0.02)
    events = [*introductions(), *packets(60.0)]
    feed(recorder, events[:400])
    until(lambda: recorder.status.n_held == 0 and recorder.status.size_bytes > 0)
    fill(disk, leave_bytes=30_000)
    feed(recorder, events[400:1500])
    until(lambda: recorder.status.path is None)
    status = recorder.status
    assert status.error.cause.errno == errno.ENOSPC
    assert "the disk is full" in tape_problems(status)["recording_stopped"]
    (disk / "ballast").unlink()
    until(lambda: recorder.status.path is not None)
    assert "goes on in" in tape_problems(recorder.status)["recording_moved"]
    feed(recorder, events[1500:])
    status = recorder.close()
    assert practice_of(status.paths) == events
    assert [sentence for sentence in end_sentences(status) if "Not recorded" in sentence] == []


def test_a_disk_that_stays_full_keeps_what_was_recorded_and_says_what_is_lost(disk):
    recorder = BackgroundRecorder(disk / "practices" / "day" / "a.mcap", retry_s=0.02)
    events = [*introductions(), *packets(60.0)]
    feed(recorder, events[:400])
    until(lambda: recorder.status.n_held == 0 and recorder.status.size_bytes > 0)
    fill(disk)
    feed(recorder, events[400:])
    status = recorder.close()
    kept = practice_of(status.paths)
    assert kept == events[: len(kept)]
    assert len(kept) >= 380
    assert status.n_held == len(events) - len(kept)
    (sentence,) = (sentence for sentence in end_sentences(status) if "Not recorded" in sentence)
    assert "the last " in sentence


def test_a_disk_that_is_pulled_out(disk, tmp_path):
    recorder = BackgroundRecorder(
        disk / "practices" / "day" / "a.mcap", fallback=tmp_path / "Documents" / "Pitchbend", retry_s=0.02
    )
    events = [*introductions(), *packets(30.0)]
    feed(recorder, events[:400])
    until(lambda: recorder.status.n_held == 0 and recorder.status.size_bytes > 0)
    subprocess.run(["umount", "-l", str(disk)], check=True)
    feed(recorder, events[400:])
    status = recorder.close()
    assert status.path == tmp_path / "Documents" / "Pitchbend" / "day" / "a-part-2.mcap"
    rest = [e for e in read_events(status.path) if isinstance(e, RawPacket)]
    assert rest == [e for e in events if isinstance(e, RawPacket)][-len(rest) :]
    assert len(rest) >= len(events) - 400
    assert "the folder or its disk is gone" in tape_problems(status)["recording_moved"]


def test_a_start_in_a_read_only_folder_is_one_sentence(disk, tmp_path):
    assert mount("-o", "remount,ro", str(disk))
    places = {"XDG_CONFIG_HOME": "config", "XDG_DATA_HOME": "data", "XDG_DOCUMENTS_DIR": "documents"}
    homes = {name: str(tmp_path / place) for name, place in places.items()}
    words = ["record", "--forearm", "A", "--club", "B", "--folder", str(disk / "practices")]
    answer = subprocess.run(
        [sys.executable, "-m", "server", *words],
        env=os.environ | homes,
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert answer.returncode == 2
    assert "cannot be written to. Choose another with --folder" in answer.stderr
    assert "Traceback" not in answer.stderr
