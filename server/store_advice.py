"""What to tell a person about a store that cannot be used."""

from __future__ import annotations

from typing import Final

from server.store.errors import StoreError, StoreReason

_CLAUSES: Final = {
    StoreReason.LOCKED: "another program is writing to it; try again when that is done",
    StoreReason.FULL: "the disk is full; free some space",
    StoreReason.READ_ONLY: "this user may not write to it; choose another place with --store",
    StoreReason.CORRUPT: (
        "the file is damaged, or is no store. Move it away and run `pitchbend store fill`: all in it came from the recordings, "
        "but for notes that were written later"
    ),
    StoreReason.NEWER: "a newer version of Pitchbend has changed its form; use that one",
    StoreReason.UNREACHABLE: "it cannot be opened, or its server does not answer; check the place given with --store",
    StoreReason.REFUSED: "its server refuses the name, the password or the database; check the URL given with --store",
    StoreReason.NO_DRIVER: "PostgreSQL needs a driver: install Pitchbend with its part `postgres`",
    StoreReason.BAD_URL: "it is no address of a store; give a file, or postgresql://NAME@HOST/DATABASE",
    StoreReason.OTHER: "the database refused",
}


def store_sentence(error: StoreError) -> str:
    """Say what is the matter and what to do; the database's own word at the end, where ours is not enough."""
    own = f" ({error.detail})" if error.reason is StoreReason.OTHER and error.detail else ""
    return f"The store {error.place} cannot be used: {_CLAUSES[error.reason]}{own}."
