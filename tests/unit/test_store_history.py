"""A player's reps as progress looks at them, read back from a store that was filled from a recording."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing

import pytest
from typer.testing import CliRunner

from fusion.drills.parse import drill_from
from sensors.events import DrillSet
from sensors.record.reader import read_events
from sensors.record.writer import Recorder
from server.cli.demo_recording import demo_recording
from server.cli.main import app
from server.drills import our_drills
from server.store import people
from server.store.database import Database
from server.store.fill import fill
from server.store.history import history_of

BLOCKS = '[[blocks]]\nreps = 4\ncue = "half"\n[[blocks]]\nreps = 3\ncue = "none"\n'
TEXT = our_drills()[0].text[: our_drills()[0].text.index("[[blocks]]")] + BLOCKS


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    folder = tmp_path_factory.mktemp("history")
    with Recorder(folder / "a.mcap") as recorder:
        for n, event in enumerate(read_events(demo_recording())):
            recorder.write(event)
            if n == 0:
                recorder.write(DrillSet(arrival_ns=event.arrival_ns, text=TEXT))
    database = Database(folder / "store.sqlite")
    assert [one.outcome.value for one in fill(database, [folder / "a.mcap"])] == ["stored"]
    database.close()
    return folder / "store.sqlite"


def test_history_is_what_the_tables_hold(place):
    database = Database(place)
    with database.reading() as connection:
        (player,) = people.players(connection)
        player_id = people.player_id_of(connection, player.name)
        assert player_id is not None
        history = history_of(connection, player_id)
    database.close()
    with closing(sqlite3.connect(place)) as connection:
        rows = connection.execute("SELECT kind, verdict, worst FROM rep ORDER BY number").fetchall()
        connection.execute("UPDATE rep SET kind = 'paused' WHERE number = 1")
        (day,) = connection.execute("SELECT day FROM practice").fetchone()
    assert [(point.kind.value, point.verdict, point.worst) for point in history.points] == rows
    assert [point.block_reps for point in history.points] == [*[4] * 4, *[3] * 3, *[0] * 5]
    assert {point.day for point in history.points} == {day}
    ((drill, text),) = history.texts.items()
    assert (text, drill.low, drill.from_mark, drill.to_mark) == (TEXT, -8.0, "takeaway", "top")
    assert drill_from(text).name == drill.name


def test_the_command_says_how_a_player_came_along(place):
    database = Database(place)
    with database.reading() as connection:
        (player,) = people.players(connection)
    database.close()
    said = CliRunner().invoke(app, ["progress", player.name, "--store", str(place)], env={"COLUMNS": "120"}).output
    for way, n in (("cued", 2), ("silent", 7), ("test", 3)):
        (row,) = re.findall(rf"^ *\d{{4}}-\d\d-\d\d +{way} +\d of (\d)", said, re.MULTILINE)
        assert int(row) <= n  # one swing of the demo cannot be judged
    assert "Trend, cued: not enough reps; at least 30 more are missing, on 5 more days." in said
    assert CliRunner().invoke(app, ["progress", "Nobody", "--store", str(place)]).exit_code != 0
