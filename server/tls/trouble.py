"""What can be wrong with this computer's authority, and what a person does about it."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import assert_never


class TrustReason(StrEnum):
    """Why the authority cannot be used."""

    UNREADABLE = "unreadable"
    FOREIGN = "foreign"
    OPEN_TO_OTHERS = "open_to_others"
    EXPIRED = "expired"
    NOT_YET = "not_yet"
    NOT_WRITTEN = "not_written"


class TrustTrouble(Exception):
    """The authority cannot be used. `when` is its end or its beginning, where that is the trouble."""

    def __init__(self, reason: TrustReason, path: Path, *, detail: str = "", when: datetime | None = None) -> None:
        self.reason = reason
        self.path = path
        self.detail = detail
        self.when = when
        super().__init__(f"{reason} {path} {detail}".strip())


_ANEW = (
    "run: pitchbend trust forget. The next start with --tls makes a new one; each phone must then trust that one, and drop "
    "the old one (the page /trust says how)."
)


def trust_sentence(trouble: TrustTrouble) -> str:
    """Say what is wrong and what to do."""
    path, day = trouble.path, f"{trouble.when:%Y-%m-%d}" if trouble.when is not None else ""
    match trouble.reason:
        case TrustReason.UNREADABLE:
            return (
                f"This computer's key for --tls cannot be read: {trouble.detail} ({path}). If the file belongs to another user, "
                f"start Pitchbend as that user. If it is damaged, {_ANEW}"
            )
        case TrustReason.FOREIGN:
            return (
                f"The key for --tls in {path} is not one that Pitchbend made here: {trouble.detail}. Put back the file that "
                f"was there. If it is lost, {_ANEW}"
            )
        case TrustReason.OPEN_TO_OTHERS:
            return (
                f"Other users of this computer can read the key for --tls, so it is not used: {path}. If nobody else has an "
                f"account here, make it private: chmod 600 '{path}'. Otherwise {_ANEW}"
            )
        case TrustReason.EXPIRED:
            return f"This computer's certificate for --tls ended on {day}. To go on, {_ANEW}"
        case TrustReason.NOT_YET:
            return (
                f"This computer's certificate for --tls begins on {day}, which by its clock is yet to come. Set the clock of "
                "this computer right and start again."
            )
        case TrustReason.NOT_WRITTEN:
            return f"The key for --tls cannot be kept in {path}: {trouble.detail}. Make that folder writable, or leave out --tls."
        case _:
            assert_never(trouble.reason)
