"""What can stand in the way of the store.

StoreError  reason and, where it is a file, its path
"""

from __future__ import annotations

from enum import StrEnum


class StoreReason(StrEnum):
    """Advice for the person is looked up by this."""

    LOCKED = "locked"
    """Another program is writing and does not stop."""
    FULL = "full"
    READ_ONLY = "read_only"
    CORRUPT = "corrupt"
    """The file is damaged, or is no database."""
    NEWER = "newer"
    """A newer version of Pitchbend has changed its form."""
    UNREACHABLE = "unreachable"
    """The file cannot be opened, or the server does not answer."""
    REFUSED = "refused"
    """The server does not let us in."""
    NO_DRIVER = "no_driver"
    BAD_URL = "bad_url"
    OTHER = "other"


class StoreError(Exception):
    """The store cannot be used now. `detail` is the database's own word, for the curious."""

    def __init__(self, reason: StoreReason, place: str, detail: str = "") -> None:
        self.reason = reason
        self.place = place
        self.detail = detail
        super().__init__(f"{place}: {reason.value} {detail}".strip())
