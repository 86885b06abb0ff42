"""The seam between practices and whatever carries their messages to other computers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Protocol

MOST_BYTES: Final = 512 * 1024
"""No message is longer. A server's own limit is twice that unless it is set (nats-server, `max_payload`)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BusMessage:
    """What somebody published."""

    subject: str
    data: bytes
    reply_to: str = ""
    """The subject that an answer is to be published on; empty when none is wanted."""


Heard = Callable[[BusMessage], None]
"""Called for each message, in the order in which one publisher published them. Must not wait."""
Stop = Callable[[], None]


class Bus(Protocol):
    """Words separated by dots are a subject; in a pattern `*` stands for one word and `>` for all the rest.

    Nothing is kept: who does not listen does not hear, and a message may be lost on the way. Order is kept.
    """

    async def publish(self, subject: str, data: bytes, *, reply_to: str = "") -> None:
        """Tell all who listen. Waits while the bus is away or busy: call it where that holds up nobody."""

    def subscribe(self, pattern: str, heard: Heard) -> Stop:
        """Listen from now on, until what is returned is called."""


def matches(pattern: str, subject: str) -> bool:
    """Whether a subject fits a pattern (docs.nats.io, "Subject-Based Messaging")."""
    wanted, words = pattern.split("."), subject.split(".")
    if wanted[-1] == ">":
        return len(words) >= len(wanted) and _fit(wanted[:-1], words[: len(wanted) - 1])
    return len(words) == len(wanted) and _fit(wanted, words)


def _fit(wanted: list[str], words: list[str]) -> bool:
    return all(one in ("*", word) for one, word in zip(wanted, words, strict=True))
