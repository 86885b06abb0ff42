"""Tells the boards on a bus of one practice of this process, and does what their coaches ask.

Rule 1: a bus that is away or slow holds up nothing but the boards.
Rule 2: only what a board follows is told in full; all boards are told that the practice is there, and how it stands.
Rule 3: whoever is on the bus is believed to be a coach, and no more: what is malformed is refused and counted.
"""

from __future__ import annotations

import asyncio
import logging
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from pydantic import ValidationError

from server.bays.local_bay import LocalBay
from server.bays.pace import Pace
from server.bus.bus import MOST_BYTES, Bus, BusMessage
from server.bus.messages import (
    AWAY_AFTER_S,
    HERE_EVERY_S,
    MOST_ASKED_BYTES,
    AskMessage,
    GuestsMessage,
    HereMessage,
    live_data,
)
from server.bus.subjects import BayAddress, is_for_answers
from server.hub import encode
from server.joining.guest import Guest, GuestRole
from server.mailbox import Mailbox
from server.routes.board import EVERY_S
from server.tasks import first_of
from server.wire import PROTOCOL_VERSION, ProblemMessage
from server.wire_board import BoardBay
from server.wire_lesson import MarkRepMessage, SayMessage, WriteNoteMessage

_log = logging.getLogger(__name__)

MOST_BOARDS: Final = 8
MOST_ASKS: Final = 16
"""Asked and not yet answered."""
_GOODBYE_S: Final = 0.5
_COACH: Final = Guest(role=GuestRole.COACH)


@dataclass(slots=True)
class _Board:
    """A board that looks on."""

    heard_s: float
    coaches: int = 0
    again: int = 0
    stream: asyncio.Task[None] | None = None


@dataclass(slots=True)
class OutletCounts:
    """For `/api/health`."""

    refused: int = 0
    """Messages from the bus that were malformed, or too many."""
    asked: int = 0
    told: int = 0
    too_long: int = 0
    """Never told: the bus takes no message of that length."""
    boards: int = 0


class Outlet:
    """`await run()` for as long as the bus."""

    def __init__(
        self,
        bay: LocalBay,
        bus: Bus,
        address: BayAddress,
        *,
        host: str,
        clock_s: Callable[[], float] = time.monotonic,
    ) -> None:
        self.counts = OutletCounts()
        self._bay = bay
        self._bus = bus
        self._address = address
        self._host = host
        self._clock_s = clock_s
        self._boards: dict[str, _Board] = {}
        self._pace = Pace()
        self._asks: set[asyncio.Task[None]] = set()

    async def run(self) -> None:
        """Tell, listen and answer until cancelled."""
        stops = [
            self._bus.subscribe(self._address.guests, self._hear_guests),
            self._bus.subscribe(self._address.ask, self._hear_ask),
        ]
        try:
            async with asyncio.TaskGroup() as tasks:
                tasks.create_task(self._miss_boards(), name=f"boards of {self._bay.id}")
                await self._tell_here()
        finally:
            for stop in stops:
                stop()
            for board in list(self._boards):
                self._forget(board)
            for ask in self._asks:
                ask.cancel()
            await self._say_goodbye()

    async def _tell_here(self) -> None:
        told: BoardBay | None = None
        told_s = 0.0
        while True:
            now, now_s = self._bay.board(), self._clock_s()
            changed = now != told and self._boards
            if changed or told is None or now_s - told_s >= HERE_EVERY_S:
                await self._bus.publish(self._address.here, self._here(now))
                told, told_s = now, now_s
            await asyncio.sleep(EVERY_S)

    async def _miss_boards(self) -> None:
        """A board that is silent is gone, and its coaches with it: apart from what waits for a bus that is away."""
        while True:
            await asyncio.sleep(HERE_EVERY_S)
            for name in [name for name, one in self._boards.items() if self._clock_s() - one.heard_s > AWAY_AFTER_S]:
                self._forget(name)

    def _here(self, board: BoardBay, *, left: bool = False) -> bytes:
        message = HereMessage(protocol=PROTOCOL_VERSION, host=self._host, left=left, board=board)
        return message.model_dump_json().encode()

    async def _say_goodbye(self) -> None:
        try:
            async with asyncio.timeout(_GOODBYE_S):
                await self._bus.publish(self._address.here, self._here(self._bay.board(), left=True))
        except TimeoutError:
            _log.debug("no board could be told that %s has ended", self._bay.id)

    def _hear_guests(self, heard: BusMessage) -> None:
        try:
            said = GuestsMessage.model_validate_json(heard.data)
        except ValidationError:
            self.counts.refused += 1
            return
        board = self._boards.get(said.board)
        if board is None:
            if len(self._boards) >= MOST_BOARDS:
                self.counts.refused += 1
                return
            board = self._boards[said.board] = _Board(self._clock_s(), again=said.again)
            self.counts.boards = len(self._boards)
        board.heard_s = self._clock_s()
        self._attend(board, said.coaches)
        if board.stream is not None and (not said.follow or said.again != board.again):
            board.stream.cancel()
            board.stream = None
        board.again = said.again
        if said.follow and (board.stream is None or board.stream.done()):
            board.stream = asyncio.get_running_loop().create_task(
                self._stream(said.board), name=f"{self._bay.id} to a board"
            )

    def _attend(self, board: _Board, coaches: int) -> None:
        for _ in range(board.coaches, coaches):
            self._bay.watch(_COACH)
        for _ in range(coaches, board.coaches):
            self._bay.unwatch(_COACH)
        board.coaches = coaches

    def _forget(self, name: str) -> None:
        board = self._boards.pop(name)
        self.counts.boards = len(self._boards)
        self._attend(board, 0)
        if board.stream is not None:
            board.stream.cancel()

    async def _stream(self, board: str) -> None:
        """Tell one board everything; from the beginning again when it could not take it as fast as it came."""
        hub = self._bay.engine.hub
        while True:
            mailbox = hub.join()
            try:
                await first_of(self._pass_on(mailbox, self._address.live(board)), mailbox.overflowed.wait())
            finally:
                hub.leave(mailbox)

    async def _pass_on(self, mailbox: Mailbox, subject: str) -> None:
        n = 0
        while True:
            text = await mailbox.take()
            data = live_data(n + 1, text)
            if len(data) > MOST_BYTES:  # were it counted, it would be missed there, and asked for again and again
                self.counts.too_long += 1
                continue
            n += 1
            await self._bus.publish(subject, data)
            self.counts.told += 1

    def _hear_ask(self, heard: BusMessage) -> None:
        try:
            said = AskMessage.model_validate_json(heard.data[: MOST_ASKED_BYTES + 1])
        except ValidationError:
            self.counts.refused += 1
            return
        if len(heard.data) > MOST_ASKED_BYTES or not is_for_answers(heard.reply_to) or len(self._asks) >= MOST_ASKS:
            self.counts.refused += 1
            return
        self.counts.asked += 1
        task = asyncio.get_running_loop().create_task(self._answer(said, heard.reply_to), name="answer to a board")
        self._asks.add(task)
        task.add_done_callback(self._asks.discard)

    async def _answer(self, said: AskMessage, reply_to: str) -> None:
        wish = said.message
        if isinstance(wish, MarkRepMessage | WriteNoteMessage | SayMessage) and not self._pace.allows():
            self.counts.refused += 1
            text = "Too many marks, notes and messages came at once. Wait a few seconds, then send this one again."
            answer = encode(ProblemMessage(code="too_fast", text=text))
        else:
            told = await self._bay.ask(Guest(role=GuestRole.COACH, name=said.name), wish)
            answer = "null" if told is None else encode(told)
        await self._bus.publish(reply_to, answer.encode())
