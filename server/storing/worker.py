"""The process that fills: one order on standard input, a line for each recording on standard output, both JSON.

It yields to everything else on the computer, so that a practice that is going on is not disturbed.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from server.child_process import LAST, step_back
from server.store.database import Database
from server.store.errors import StoreError
from server.store.fill import Outcome, fill
from server.store.shelf import Shelf
from server.store_advice import store_sentence
from server.storing.order import Became

_BECAME: Final = {
    Outcome.STORED: Became.STORED,
    Outcome.NO_REPS: Became.NO_REPS,
    Outcome.UNREADABLE: Became.UNREADABLE,
}


def main() -> None:
    """Do what the order says."""
    step_back(LAST)
    order = json.loads(sys.stdin.read())
    obey(order, lambda line: print(json.dumps(line), flush=True))  # noqa: T201  # the parent reads it


def obey(order: dict[str, Any], say: Callable[[dict[str, str]], None]) -> None:
    """Fill, and say what became of each recording; of trouble with the store, a sentence."""
    try:
        database = Database(order["store"])
        try:
            for filled in fill(database, [Path(path) for path in order["recordings"]], shelf=Shelf.of(database)):
                became = _BECAME.get(filled.outcome, Became.KNOWN)
                say({"path": str(filled.path), "became": became.value, "problem": filled.problem})
        finally:
            database.close()
    except StoreError as error:
        say({"trouble": store_sentence(error)})


if __name__ == "__main__":
    main()
