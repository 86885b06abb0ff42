"""What practices and boards tell each other. Strict, as everything that comes from elsewhere."""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import Field, TypeAdapter

from server.wire import ServerMessage
from server.wire_base import Message
from server.wire_board import BoardBay
from server.wire_client import Wish

HERE_EVERY_S: Final = 1.0
AWAY_AFTER_S: Final = 3.5
"""Three in a row may be lost on the way."""
MOST_ASKED_BYTES: Final = 8192
"""More than a page may say at once (`server.routes.live`)."""

Name = Annotated[str, Field(max_length=80, pattern=r"^[^\x00-\x1f\x7f]*$")]


class HereMessage(Message):
    """A practice is there; once a second, and at most five times when it changes."""

    protocol: int
    """Of the messages to pages: boards and practices of different versions do not understand each other."""
    host: Name
    """What its computer is called."""
    left: bool = False
    """This was the last one: the service was stopped."""
    board: BoardBay


class GuestsMessage(Message):
    """A board looks on; once a second, and at once when it changes."""

    board: str = Field(pattern=r"^[0-9a-f]{16}$")
    coaches: int = Field(ge=0, le=20)
    """How many are at the board."""
    follow: bool
    """Somebody there looks at this practice, so everything is to be told."""
    again: int = Field(default=0, ge=0)
    """Counts how often it has to be told from the beginning: something was lost."""


class LiveMessage(Message):
    """What pages are told. The first of a stream is a hello and has number 1, and none is left out."""

    n: int = Field(ge=1)
    message: ServerMessage


class AskMessage(Message):
    """A coach at a board wants something. What comes back is a message to that page, or null."""

    name: Name
    message: Annotated[Wish, Field(discriminator="type")]


ANSWER: TypeAdapter[ServerMessage | None] = TypeAdapter(ServerMessage | None)


def live_data(n: int, text: str) -> bytes:
    """Write a `LiveMessage` round a message that is written already."""
    return f'{{"n":{n},"message":{text}}}'.encode()
