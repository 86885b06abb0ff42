"""From what a database driver raises to a reason: by its codes, never by its words."""

from __future__ import annotations

import sqlite3
from typing import Final

from sqlalchemy.exc import DBAPIError, OperationalError, SQLAlchemyError

from server.store.errors import StoreReason

_SQLITE: Final = {
    sqlite3.SQLITE_BUSY: StoreReason.LOCKED,
    sqlite3.SQLITE_LOCKED: StoreReason.LOCKED,
    sqlite3.SQLITE_FULL: StoreReason.FULL,
    sqlite3.SQLITE_READONLY: StoreReason.READ_ONLY,
    sqlite3.SQLITE_PERM: StoreReason.READ_ONLY,
    sqlite3.SQLITE_AUTH: StoreReason.READ_ONLY,
    sqlite3.SQLITE_CORRUPT: StoreReason.CORRUPT,
    sqlite3.SQLITE_NOTADB: StoreReason.CORRUPT,
    sqlite3.SQLITE_CANTOPEN: StoreReason.UNREACHABLE,
    sqlite3.SQLITE_IOERR: StoreReason.UNREACHABLE,
}
"""Primary result codes: https://www.sqlite.org/rescode.html."""

_SQLSTATE: Final = {
    "55P03": StoreReason.LOCKED,
    "40P01": StoreReason.LOCKED,
    "23505": StoreReason.LOCKED,
    "53100": StoreReason.FULL,
    "25006": StoreReason.READ_ONLY,
    "42501": StoreReason.READ_ONLY,
    "28000": StoreReason.REFUSED,
    "28P01": StoreReason.REFUSED,
    "3D000": StoreReason.REFUSED,
}
"""PostgreSQL's codes: appendix A of its manual. 23505 another program wrote the same row first, 53100 disk full, 25006 read-only
transaction, 28* who are you, 3D000 no such database.
"""


def reason_of(error: SQLAlchemyError) -> StoreReason:
    """Say what is the matter."""
    if not isinstance(error, DBAPIError):
        return StoreReason.OTHER
    origin = error.orig
    code = getattr(origin, "sqlite_errorcode", None)
    if isinstance(code, int):
        return _SQLITE.get(code & 0xFF, StoreReason.OTHER)
    state = getattr(origin, "sqlstate", None)
    if isinstance(state, str):
        return _SQLSTATE.get(state, StoreReason.UNREACHABLE if state[:2] in {"08", "57"} else StoreReason.OTHER)
    return StoreReason.UNREACHABLE if isinstance(error, OperationalError) else StoreReason.OTHER
