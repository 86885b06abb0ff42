"""The commands of the store, and all that a store knows, for its tests."""

from __future__ import annotations

from typing import Any

from typer.testing import CliRunner

from server.cli.failures import CommandFailed
from server.cli.main import app
from server.store import people
from server.store.database import Database


def store(*words: object, fails: bool = False) -> str:
    """Run `pitchbend store`; gives what it says, or why it failed."""
    result = CliRunner().invoke(app, ["store", *map(str, words)])
    if fails:
        assert isinstance(result.exception, CommandFailed), result.output
        return str(result.exception)
    assert result.exit_code == 0, (result.output, result.exception)
    return result.output


def rows(place: object) -> list[dict[str, Any]]:
    """Everything that a store knows, by player."""
    database = Database(str(place))
    with database.reading() as connection:
        ids = [people.player_id_of(connection, one.name) for one in people.players(connection)]
        found = [people.whole(connection, one) for one in ids if one is not None]
    database.close()
    return found
