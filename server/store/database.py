"""Opens the store: SQLite in this user's data folder by default, PostgreSQL by its URL; brings its form up to date.

SQLite in write-ahead mode: who reads holds up nobody, and a killed program leaves a whole database
(https://www.sqlite.org/wal.html). Foreign keys are switched on for each connection, as SQLite wants it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

import platformdirs
from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, NoSuchModuleError, SQLAlchemyError
from sqlalchemy.pool import NullPool

from server.store.errors import StoreError, StoreReason
from server.store.trouble import reason_of

BUSY_S: Final = 2.0
"""So long a write waits for another program's."""
CONNECT_S: Final = 5
_DRIVERS: Final = {"postgresql": "postgresql+psycopg", "postgres": "postgresql+psycopg", "sqlite": "sqlite"}


def default_path() -> Path:
    """Where it lies."""
    return Path(platformdirs.user_data_dir("pitchbend", appauthor=False)) / "practices.sqlite"


class Database:
    """`with database.writing() as connection` is one transaction. Every trouble comes as `StoreError`.

    `place` is a URL, a path, or None for the default. Nothing is touched before `open`.
    """

    def __init__(self, place: str | Path | None = None) -> None:
        self._url = _url_of(default_path() if place is None else place)
        self.is_file = self._url.get_backend_name() == "sqlite"
        self.name = str(self._url.database) if self.is_file else self._url.render_as_string(hide_password=True)
        """For people: the file, or the URL without its password."""
        self._engine: Engine | None = None

    def open(self) -> Engine:
        """Connect, make what is missing, and bring an older form up to date. Raises `StoreError`."""
        if self._engine is not None:
            return self._engine
        if self.is_file:
            try:
                Path(self.name).parent.mkdir(parents=True, exist_ok=True)
            except OSError as error:
                raise StoreError(StoreReason.UNREACHABLE, self.name, error.strerror or str(error)) from error
        try:
            engine = _engine_of(self._url, is_file=self.is_file)
        except ModuleNotFoundError as error:
            raise StoreError(StoreReason.NO_DRIVER, self.name, str(error)) from error
        with self._translated(), engine.connect() as connection:
            migrate(connection, self.name)
        self._engine = engine
        return engine

    def close(self) -> None:
        """Let go of it."""
        if self._engine is not None:
            self._engine.dispose()
            self._engine = None

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """One transaction: all of it, or nothing."""
        engine = self.open()
        with self._translated(), engine.begin() as connection:
            yield connection

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Look things up."""
        engine = self.open()
        with self._translated(), engine.connect() as connection:
            yield connection

    def tidy(self) -> None:
        """Empty SQLite's write-ahead log into the file: what was deleted is then in neither."""
        if self.is_file:
            with self.reading() as connection:
                connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")

    @contextmanager
    def _translated(self) -> Iterator[None]:
        try:
            yield
        except SQLAlchemyError as error:
            detail = str(getattr(error, "orig", None) or error).strip().splitlines()
            raise StoreError(reason_of(error), self.name, detail[0] if detail else "") from error


def migrate(connection: Connection, name: str = "", *, to: str = "head") -> None:
    """Bring the form up to date, each step in a transaction. Raises `StoreError` for a form newer than this program's."""
    config = alembic_config()
    script = ScriptDirectory.from_config(config)
    now = MigrationContext.configure(connection).get_current_revision()
    connection.rollback()
    if now == script.get_current_head():
        return
    if now is not None and now not in {revision.revision for revision in script.walk_revisions()}:
        raise StoreError(StoreReason.NEWER, name)
    config.attributes["connection"] = connection
    command.upgrade(config, to)
    connection.commit()


def alembic_config() -> Config:
    """Where the steps lie. There is no ini file: nothing in it would be anybody's to change."""
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


def _url_of(place: str | Path) -> URL:
    text = str(place)
    if "://" not in text:
        return URL.create("sqlite", database=text)
    try:
        url = make_url(text)
        driver = _DRIVERS.get(url.drivername, url.drivername)
        if driver not in _DRIVERS.values():
            raise StoreError(StoreReason.BAD_URL, url.render_as_string(hide_password=True))
        return url.set(drivername=driver)
    except (ArgumentError, NoSuchModuleError, ValueError) as error:
        raise StoreError(StoreReason.BAD_URL, "the URL") from error  # not repeated: there may be a password in it


def _engine_of(url: URL, *, is_file: bool) -> Engine:
    if not is_file:
        return create_engine(url, connect_args={"connect_timeout": CONNECT_S}, pool_pre_ping=True)
    engine = create_engine(url, connect_args={"timeout": BUSY_S}, poolclass=NullPool)
    event.listen(engine, "connect", _set_up_sqlite)
    return engine


def _set_up_sqlite(connection: sqlite3.Connection, _record: Any) -> None:
    """Before anything else on each connection."""
    cursor = connection.cursor()
    cursor.execute("PRAGMA foreign_keys = ON")
    mode = cursor.execute("PRAGMA journal_mode").fetchone()[0]
    if mode != "wal":
        cursor.execute("PRAGMA journal_mode = WAL")
    cursor.execute("PRAGMA synchronous = NORMAL")
    cursor.execute("PRAGMA secure_delete = ON")  # what is forgotten is overwritten, https://www.sqlite.org/pragma.html
    cursor.close()
