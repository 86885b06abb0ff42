"""From one computer to another and from one version to the next: the recording is what counts, and the numbers come out of it."""

from __future__ import annotations

import hashlib
import json
import time
import zipfile
from datetime import UTC, datetime
from itertools import islice

import pytest
from typer.testing import CliRunner

from fusion.outputs import Phase
from sensors.profiles.load import load_profile
from sensors.profiles.open_imu import NAME, OPEN_IMU
from sensors.profiles.registry import PROFILES
from sensors.record.reader import read_events, read_head
from sensors.record.recover import recover
from sensors.record.writer import Recorder, offset_here_s
from server.analysis.analysis import Analysis
from server.cli.demo_recording import demo_recording
from server.cli.main import app
from server.store import looking, people
from server.store.database import Database
from server.store.fill import fill
from server.store.shelf import Shelf

EVENING = datetime(2026, 6, 1, 20, 0, tzinfo=UTC)
"""In Tokyo, nine hours ahead of UTC, it is the morning of the second by then."""


@pytest.fixture(scope="module")
def recording(tmp_path_factory):
    """The first half of the demo, as somebody in Tokyo would have recorded it."""
    path = tmp_path_factory.mktemp("tokyo") / "morning.mcap"
    wall_ns = int(EVENING.timestamp()) * 1_000_000_000
    with Recorder(path, wall_clock_ns=lambda: wall_ns, utc_offset_s=lambda _: 9 * 3600) as recorder:
        for event in islice(read_events(demo_recording()), 6000):
            recorder.write(event)
    return path


@pytest.fixture
def here(monkeypatch):
    """A computer in another zone."""

    def to(zone):
        monkeypatch.setenv("TZ", zone)
        time.tzset()

    yield to
    monkeypatch.undo()
    time.tzset()


def known(place):
    """Everything that a store knows, and what its swings files hold."""
    database = Database(place)
    with database.reading() as connection:
        everything = [
            people.whole(connection, people.player_id_of(connection, one.name)) for one in people.players(connection)
        ]
    shelf = Shelf.of(database)
    key = everything[0]["practices"][0]["key"]
    swings = [shelf.read(key, rep["number"]) for rep in everything[0]["practices"][0]["reps"]]
    database.close()
    return everything, swings


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="the zone of a process cannot be set on Windows")
def test_recorded_stored_exported_and_taken_in_elsewhere(recording, tmp_path, here):
    here("America/New_York")
    first, second = tmp_path / "first.sqlite", tmp_path / "second.sqlite"
    run = CliRunner()
    assert run.invoke(app, ["store", "fill", str(recording.parent), "--store", str(first)]).exit_code == 0
    ((player,), swings) = known(first)
    place = tmp_path / "player.zip"
    out = run.invoke(app, ["store", "export", player["player"], "-o", str(place), "--store", str(first)])
    assert out.exit_code == 0, out.output
    here("Pacific/Kiritimati")
    with zipfile.ZipFile(place) as archive:  # the other computer's own tool
        archive.extractall(tmp_path / "elsewhere")
    assert run.invoke(app, ["store", "fill", str(tmp_path / "elsewhere"), "--store", str(second)]).exit_code == 0
    ((there,), swings_there) = known(second)
    for one in (player, there):
        (practice,) = one["practices"]
        assert (practice["day"], practice["utc_offset_s"], practice["offset_assumed"]) == ("2026-06-02", 32400, False)
        assert practice["reps"]
        for file in practice["recordings"]:
            file.pop("path")
    assert there == player
    assert (
        json.loads((tmp_path / "elsewhere" / "player.json").read_text())["practices"][0]["reps"]
        == player["practices"][0]["reps"]
    )
    assert [one.columns for one in swings_there] == [one.columns for one in swings]


def test_a_recording_that_does_not_say_its_zone_is_told_from_one_that_does(recording, tmp_path):
    assert read_head(recording).utc_offset_s == 32400
    assert read_head(demo_recording()).utc_offset_s is None
    recover([recording], tmp_path / "whole.mcap")
    assert read_head(tmp_path / "whole.mcap").utc_offset_s == 32400
    now = datetime.now().astimezone()
    assert offset_here_s(now.timestamp()) == now.utcoffset().total_seconds()
    database = Database(tmp_path / "store.sqlite")
    with Recorder(tmp_path / "old.mcap") as recorder:
        for event in islice(read_events(demo_recording()), 6000):
            recorder.write(event)
    (filled,) = fill(database, [tmp_path / "old.mcap"])
    assert filled.outcome == "stored"
    with database.reading() as connection:
        (row,) = looking.practices(connection, player=None, limit=1, after=None)
    assert row["offset_assumed"] is True
    database.close()


def tops(place, recording):
    """Bend at the top of each rep, as a store has it that is filled now."""
    database = Database(place)
    list(fill(database, [recording], shelf=Shelf.of(database)))
    with database.reading() as connection:
        (practice,) = looking.practices(connection, player=None, limit=1, after=None)
        choice, by_number = looking.RepChoice(), looking.Sorting()
        reps = looking.reps(connection, practice["id"], choice=choice, sorting=by_number, limit=99, after=None)
    has = Shelf.of(database).has(practice["key"])
    database.close()
    marks = [mark for rep in reps for mark in rep["marks"] if mark["name"] == "top"]
    return practice, [mark["bend_change_deg"] for mark in marks], has


def test_an_old_recording_after_the_decoder_was_mended(recording, tmp_path, monkeypatch):
    """A version whose decoder read the gyroscopes 3 % short: its numbers were wrong, its recording is not."""
    before = hashlib.sha256(recording.read_bytes()).hexdigest()
    short = load_profile(OPEN_IMU.text.replace("full_scale = 32768", "full_scale = 33781", 1), f"{NAME}.toml")
    with monkeypatch.context() as then:
        then.setitem(PROFILES, NAME, short)
        then.setattr("server.store.swings.program_version", lambda: "0.0.9")
        _, wrong, had = tops(tmp_path / "then.sqlite", recording)
        assert had
    practice, right, has = tops(tmp_path / "now.sqlite", recording)
    analysis = Analysis(recording)
    for _ in analysis.run(None):
        pass
    expected = [rep.checkpoints[Phase.TOP].angles.bend_change_rad for rep in analysis.reps]
    assert right == [pytest.approx(57.29577951308232 * bend, abs=1e-12) for bend in expected]
    assert max(abs(a - b) for a, b in zip(wrong, right, strict=True)) > 0.5
    assert has
    database = Database(tmp_path / "then.sqlite")
    assert not Shelf.of(database).has(practice["key"])  # made by another version: worked out anew when it is asked for
    database.close()
    assert hashlib.sha256(recording.read_bytes()).hexdigest() == before
