"""One practice as the routes see it, wherever it runs, and all practices of a service."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Protocol

from server.bays.health import BayHealth
from server.joining.guest import Guest
from server.mailbox import Mailbox
from server.wire import ServerMessage
from server.wire_board import BoardBay, BoardMessage
from server.wire_client import Wish


class Bay(Protocol):
    """One practice."""

    @property
    def id(self) -> str:
        """What addresses call it: see `server.bays.names`."""

    @property
    def name(self) -> str:
        """What people call it."""

    async def run(self) -> None:
        """Run until cancelled; a bug escapes."""

    def join(self, guest: Guest) -> Mailbox:
        """Let a client in: its mailbox opens with the present state."""

    def leave(self, mailbox: Mailbox) -> None:
        """Forget a client."""

    def watch(self, guest: Guest) -> None:
        """Somebody looks at the board: they are there, though they are told nothing from here."""

    def unwatch(self, guest: Guest) -> None:
        """They do so no longer."""

    async def ask(self, guest: Guest, message: Wish) -> ServerMessage | None:
        """Do what a client wants; gives the answer, or the reason when that cannot be."""

    def board(self) -> BoardBay:
        """How it stands now, in short."""

    def health(self) -> BayHealth:
        """How it fares, in figures."""


class Bays:
    """In the order in which they are shown. Raises `ValueError` for two of the same id."""

    def __init__(self, bays: Sequence[Bay]) -> None:
        self._bays: dict[str, Bay] = {}
        self._board = (-1, "")
        for bay in bays:
            self.add(bay)

    def __iter__(self) -> Iterator[Bay]:
        return iter(tuple(self._bays.values()))

    def __len__(self) -> int:
        return len(self._bays)

    def add(self, bay: Bay) -> None:
        """Put one more behind the others. Who adds it runs it."""
        if bay.id in self._bays:
            raise ValueError(f"two practices are called {bay.id}")
        self._bays[bay.id] = bay

    def remove(self, bay_id: str) -> None:
        """Take one out; no effect on those who are in it."""
        self._bays.pop(bay_id, None)

    def find(self, bay_id: str | None) -> Bay | None:
        """Look one up; the first where none is named."""
        return next(iter(self), None) if bay_id is None else self._bays.get(bay_id)

    def player_of(self, guest: Guest) -> str:
        """Whose practice a guest has joined; empty where nobody gave a name."""
        bay = self.find(guest.bay)
        player = bay.board().player if bay is not None else None
        return player.name if player is not None else ""

    def board(self, tick: int) -> str:
        """How all stand, in short, as it goes over the wire: made once a tick, however many look on."""
        if self._board[0] != tick:
            self._board = (tick, BoardMessage(bays=[bay.board() for bay in self]).model_dump_json())
        return self._board[1]
