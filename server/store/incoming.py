"""A recording that came from elsewhere: looked through before anything of it is believed, then taken in like any other.

Rule 1: nothing is unpacked. A chunk that says it is compressed, or that its contents are longer than itself, is not read at all.
Rule 2: what is refused is deleted here; who sent it still has it, and is told why.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from sensors.errors import RecordingError, SensorsError
from sensors.record import format as fmt
from sensors.record.reader import ReadReport, read_events, read_head
from sensors.record.watched import watched
from server.store.database import Database
from server.store.fill import Outcome, fill
from server.store.looking import whereabouts
from server.store.shelf import Shelf
from server.whole_file import remove_quietly

_LOOKED_THROUGH: Final = 0.2
"""How much of the work that is, about."""
REFUSED: Final = "refused"


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What became of a file."""

    outcome: str
    """An `Outcome`, or `REFUSED`."""
    key: str | None = None
    """Of its practice, where it is in the store."""
    detail: str = ""
    """Why it was refused, a sentence."""


def take_in(database: Database, path: Path, sha256: str, report: Callable[[float], None]) -> Taken:
    """Look a file through and take it in, or delete it. Raises `StoreError`."""
    with contextlib.ExitStack() as whatever_happens:
        whatever_happens.callback(remove_quietly, path)
        problem = _problem(path, report)
        if problem:
            return Taken(outcome=REFUSED, detail=problem)

        def show(_: int, reading: ReadReport) -> None:
            report(_LOOKED_THROUGH + (1 - _LOOKED_THROUGH) * reading.share_read)

        (filled,) = fill(database, [path], report=show, shelf=Shelf.of(database))
        match filled.outcome:
            case Outcome.STORED | Outcome.MATCHED | Outcome.KNOWN:
                whatever_happens.pop_all()
            case Outcome.NO_REPS:
                return Taken(outcome=REFUSED, detail="Nobody swings in this recording, so there is nothing to show.")
            case _:
                return Taken(outcome=REFUSED, detail=f"It cannot be read: {filled.problem}.")
        with database.reading() as connection:
            found = whereabouts(connection, sha256)
        return Taken(outcome=filled.outcome.value, key=None if found is None else found[0])


def _problem(path: Path, report: Callable[[float], None]) -> str:
    """Say what is wrong with a file, in a sentence; empty for a sound and whole recording."""
    reading = ReadReport()
    try:
        if fmt.CONTINUES_NOTE in read_head(path).notes:
            return "It goes on where another file stopped. Make one of the two with `pitchbend recover`, and send that."
        for _ in watched(read_events(path, report=reading), lambda: report(_LOOKED_THROUGH * reading.share_read)):
            pass
    except RecordingError as error:
        return f"It cannot be taken: {error.problem}."
    except (SensorsError, OSError) as error:
        return f"It cannot be read: {error}."
    if reading.truncated:
        return (
            "It ends in the middle: it was cut off, or has not come whole. Send it again; if it is cut off where it came from, "
            "make a whole one with `pitchbend recover`, and send that."
        )
    if reading.n_damaged_chunks:
        return "Parts of it are damaged or packed. Make a sound one with `pitchbend recover`, and send that."
    return ""
