from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from sensors.errors import RecorderError
from sensors.record.background import TapeStatus
from server.disk_advice import disk_advice, disk_trouble
from server.health_views import tape_view
from server.tape_advice import end_sentences, tape_problems

FIRST, SECOND = Path("stick", "a.mcap"), Path("own", "a-part-2.mcap")


def full(code=errno.ENOSPC):
    return RecorderError(FIRST, OSError(code, os.strerror(code)))


WELL = TapeStatus(path=FIRST, paths=(FIRST,), size_bytes=4_000_000, minutes_left=900.0)


def test_a_recording_that_is_well_says_nothing():
    assert tape_problems(WELL) == tape_problems(TapeStatus()) == {}
    assert end_sentences(WELL) == [f"Recorded in {FIRST}"]
    assert end_sentences(TapeStatus()) == []


@pytest.mark.parametrize(
    ("status", "code", "says"),
    [
        (TapeStatus(paths=(FIRST,), error=full(), n_held=40, held_s=1.0), "recording_stopped", "held in memory"),
        (TapeStatus(path=SECOND, paths=(FIRST, SECOND), error=full()), "recording_moved", f"It goes on in {SECOND}"),
        (TapeStatus(path=FIRST, paths=(FIRST,), n_missed=3), "recording_gap", "not in its recording"),
        (TapeStatus(path=FIRST, paths=(FIRST,), stalled_s=4.0), "recording_behind", "does not answer"),
        (TapeStatus(path=FIRST, paths=(FIRST,), minutes_left=7.2), "recording_space", "less than 10 minutes"),
        (TapeStatus(path=FIRST, paths=(FIRST,), minutes_left=0.4), "recording_space", "less than 1 minute of"),
    ],
)
def test_each_trouble_is_told_alone_in_whole_sentences(status, code, says):
    ((found, text),) = tape_problems(status).items()
    assert found == code
    assert says in text
    assert text.endswith(".")


def test_a_text_changes_only_with_news():
    """Each change is a message to every page: not one for every second that the disk fills up."""
    texts = {
        tape_problems(TapeStatus(path=FIRST, paths=(FIRST,), minutes_left=tenths / 10))["recording_space"]
        for tenths in range(299)
    }
    assert len(texts) == 6


def test_at_the_end_it_says_where_and_what_is_lost():
    moved = end_sentences(TapeStatus(path=SECOND, paths=(FIRST, SECOND), error=full()))
    assert moved[:2] == [f"Recorded in {FIRST}", f"Recorded in {SECOND}"]
    assert "makes one file" in moved[2]
    lost = end_sentences(TapeStatus(paths=(FIRST,), error=full(), n_held=400, held_s=10.2))
    assert "could not be finished: the disk is full" in lost[1]
    assert lost[2] == "Not recorded: the last 10 s, for want of a place to write to."
    hung = end_sentences(TapeStatus(path=FIRST, paths=(FIRST,), stalled_s=6.0, n_held=1, held_s=0.4))
    assert "does not answer" in hung[1]


def test_the_trouble_alone_is_the_first_clause():
    for code in (errno.ENOSPC, errno.EROFS, errno.EIO, errno.EEXIST, errno.ENAMETOOLONG):
        cause = OSError(code, os.strerror(code))
        assert disk_advice(cause).startswith(disk_trouble(cause) + ". ")
        assert "--folder" not in disk_trouble(cause)


def test_it_goes_over_the_wire_in_round_figures():
    view = tape_view(WELL)
    assert (view.path, view.n_files, view.size_mb, view.minutes_left) == (str(FIRST), 1, 4.0, 900.0)
    assert tape_view(TapeStatus(paths=(FIRST,), error=full())).path is None
