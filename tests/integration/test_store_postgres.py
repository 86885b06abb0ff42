"""The store on a real PostgreSQL server holds what it holds in SQLite: a private cluster, with a socket in its own folder."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import tempfile
import zipfile
from contextlib import contextmanager
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import column, create_engine, insert, select, table, update
from typer.testing import CliRunner

from server.cli.demo_recording import demo_recording
from server.cli.main import app
from server.store.best import best_by_practice
from server.store.columns import rep_columns
from server.store.database import Database, alembic_config, migrate
from server.store.looking import rep
from server.store.people import players
from server.store.schema import METADATA, PRACTICE

INITDB, PG_CTL = shutil.which("initdb"), shutil.which("pg_ctl")
pytestmark = pytest.mark.skipif(
    INITDB is None or PG_CTL is None, reason="PostgreSQL's initdb and pg_ctl are not on the path of this computer"
)
NOBODY = 65534


@pytest.fixture(scope="module")
def url():
    """PostgreSQL refuses to run as root: as root, it is started as nobody."""
    user = NOBODY if os.geteuid() == 0 else None
    folder = Path(tempfile.mkdtemp(prefix="pg"))  # a short path: a socket's name has about a hundred characters
    if user is not None:
        os.chown(folder, user, -1)

    def run(*words):
        log = (folder.parent / f"{folder.name}.log").open("ab")
        with log:  # to a file: the server would hold a pipe open
            subprocess.run(words, check=True, user=user, cwd=folder, stdout=log, stderr=log, timeout=120)

    data = folder / "data"
    try:
        run(INITDB, "-D", str(data), "-U", "tester", "-A", "trust", "-E", "UTF8", "--no-sync")
        run(PG_CTL, "-D", str(data), "-w", "-o", f"-c listen_addresses= -k {folder} -c fsync=off", "start")
        try:
            yield f"postgresql://tester@/postgres?host={folder}"
        finally:
            run(PG_CTL, "-D", str(data), "-w", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        (folder.parent / f"{folder.name}.log").unlink(missing_ok=True)


def store(*words, place):
    result = CliRunner().invoke(app, ["store", *map(str, words), "--store", str(place)])
    assert result.exit_code == 0, (result.output, result.exception)
    return result.output


def asked_by_the_page(connection):
    """Reps as columns, and the best one by practice."""
    practice = connection.execute(select(PRACTICE.c.id)).scalar_one()
    first = rep(connection, practice, 1)
    assert first is not None
    best = [(one["key"], one["day"], one["number"], one["worst"]) for one in best_by_practice(connection, first)]
    return rep_columns(connection, practice, limit=5, after=3), best


def test_postgresql_holds_what_sqlite_holds(url, tmp_path):
    (tmp_path / "a").mkdir()
    shutil.copy(demo_recording(), tmp_path / "a" / "a.mcap")
    exported, asked = [], []
    for n, place in enumerate((url, tmp_path / "store.sqlite")):
        assert "1 new" in store("fill", tmp_path / "a", place=place)
        assert "0 new, 1 known already" in store("fill", tmp_path / "a", place=place)
        database = Database(place)
        with database.reading() as connection:
            (player,) = players(connection)
            asked.append(asked_by_the_page(connection))
        database.close()
        store("export", player.name, "-o", tmp_path / f"{n}.zip", place=place)
        with zipfile.ZipFile(tmp_path / f"{n}.zip") as archive:
            exported.append((player, json.loads(archive.read("player.json"))))
        database = Database(place)
        with database.writing() as connection:
            connection.execute(update(PRACTICE).values(program_version="0.0.9"))
        database.close()
        assert "1 practice was worked out by another version" in store("list", place=place)
        assert "1 worked out anew" in store("renew", place=place)
        store("export", player.name, "-o", tmp_path / f"{n}.zip", "--force", place=place)  # as it was before, all of it
        store("forget", player.name, "--yes", place=place)
        assert "The store is empty." in store("list", place=place)
        store("import", tmp_path / f"{n}.zip", "--folder", tmp_path / f"received-{n}", place=place)
        store("export", player.name, "-o", tmp_path / f"{n}-again.zip", place=place)
        with zipfile.ZipFile(tmp_path / f"{n}-again.zip") as archive:
            again = json.loads(archive.read("player.json"))
        for one in (exported[-1][1], again):
            one["practices"][0]["recordings"][0].pop("path")
        assert again == exported[-1][1]
    assert exported[0] == exported[1]
    assert asked[0] == asked[1]
    columns, best = asked[0]
    assert columns["number"] == [4, 5, 6, 7, 8]
    assert len(best) == 1
    assert len(exported[0][1]["practices"][0]["reps"]) == 12


@contextmanager
def connected(url, **options):
    engine = create_engine(url.replace("postgresql:", "postgresql+psycopg:"), **options)
    with engine.connect() as connection:
        yield connection
    engine.dispose()


def test_every_earlier_form_with_rows_in_it_is_brought_up_to_date(url):
    practice = {
        "key": "k", "player_id": 1, "provenance": "", "lead_side": "left", "begun_unix_s": 1.5, "utc_offset_s": 7200,
        "day": "2026-05-03", "duration_s": 2.5, "n_packets": 9, "program_version": "0.1.0",
    }  # fmt: skip
    for revision in [one.revision for one in ScriptDirectory.from_config(alembic_config()).walk_revisions()]:
        with connected(url, isolation_level="AUTOCOMMIT") as connection:
            connection.exec_driver_sql(f"CREATE DATABASE form_{revision}")
        place = url.replace("/postgres?", f"/form_{revision}?")
        with connected(place) as connection:
            migrate(connection, to=revision)
            connection.exec_driver_sql("INSERT INTO player (id, name) VALUES (1, 'Ines Marrow')")
            connection.execute(insert(table("practice", *map(column, practice))).values(practice))
            connection.commit()
        database = Database(place)
        with database.reading() as connection:
            assert compare_metadata(MigrationContext.configure(connection), METADATA) == []
            (kept,) = connection.execute(select(PRACTICE)).mappings()
        database.close()
        assert dict(kept) == {"id": 1, "offset_assumed": True, **practice}
