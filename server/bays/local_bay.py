"""A practice of this process: an engine, and who steers it."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Awaitable, Callable
from dataclasses import replace
from typing import Final, assert_never

from server.advice import viewers_watch_advice
from server.bays.board import Folded, fold, shown
from server.bays.control import Control
from server.bays.health import BayHealth, engine_health
from server.engine import Engine
from server.joining.guest import Guest, GuestRole
from server.mailbox import Mailbox
from server.wire import HelloMessage, ProblemMessage, ServerMessage
from server.wire_board import BoardBay
from server.wire_client import (
    BandMessage,
    BlinkMessage,
    ChooseDrillMessage,
    ChooseMessage,
    ClubMessage,
    DrillTextMessage,
    EditDrillMessage,
    LengthsMessage,
    LookAheadMessage,
    MoveMessage,
    PauseMessage,
    PlaceMessage,
    SaveDrillMessage,
    SecondMessage,
    SwapMessage,
    TryDrillMessage,
    Wish,
)
from server.wire_lesson import BayRef, ControlAskMessage, MarkRepMessage, SayMessage, WriteNoteMessage
from server.wire_replay import ReplayAsk

_LOOK_EVERY_S: Final = 1.0

Steering = MoveMessage | ChooseDrillMessage | DrillTextMessage | BandMessage | SecondMessage | LookAheadMessage
"""What only whoever holds the control may ask for."""


class LocalBay:
    """Satisfies `server.bays.bay.Bay`. `clock_s` and `sleep` are for tests."""

    def __init__(
        self,
        engine: Engine,
        *,
        id: str,  # noqa: A002  # as the protocol has it
        name: str,
        clock_s: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], Awaitable[None]] = asyncio.sleep,
    ) -> None:
        self.id = id
        self.name = name
        self.engine = engine
        self._clock_s = clock_s
        self._sleep = sleep
        self._control = Control()
        self._guests: dict[Mailbox, Guest] = {}
        engine.hub.present.bay = BayRef(id=id, name=name)
        self._folded = Folded()
        for message in engine.hub.present.opening():
            self._fold(message)
        engine.hub.listen(self._fold)

    async def run(self) -> None:
        """Run the practice until cancelled; a bug escapes."""
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self._look(), name=f"control of {self.id}")
            await self.engine.run()

    def join(self, guest: Guest) -> Mailbox:
        """Let a client in."""
        mailbox = self.engine.hub.join()
        self._guests[mailbox] = guest
        self._control.came(guest)
        return mailbox

    def leave(self, mailbox: Mailbox) -> None:
        """Forget a client."""
        self.engine.hub.leave(mailbox)
        self._control.went(self._guests.pop(mailbox), self._clock_s())

    def watch(self, guest: Guest) -> None:
        """Somebody looks at the board."""
        self._control.came(guest)

    def unwatch(self, guest: Guest) -> None:
        """They do so no longer."""
        self._control.went(guest, self._clock_s())

    async def ask(self, guest: Guest, message: Wish) -> ServerMessage | None:  # noqa: C901, PLR0911  # a table: one case a wish
        """Do what a client wants; gives the answer, or the reason when that cannot be."""
        engine, coach = self.engine, guest.role is GuestRole.COACH
        if guest.only_watches:
            return ProblemMessage(code="viewers_watch", text=viewers_watch_advice())
        if isinstance(message, ReplayAsk):  # who looks at a recording together winds it together
            return engine.replay(message)
        match message:
            case ControlAskMessage(hold=hold):
                return self._ask_control(guest, hold=hold)
            case SayMessage() if not coach:
                return ProblemMessage(
                    code="coach_says", text="Only the coach can send a message to the student's page."
                )
            case MarkRepMessage() | WriteNoteMessage() | SayMessage():
                return engine.add(message, by=guest.name or guest.role.value)
            case PauseMessage(on=on):  # a student must always be able to have quiet, and knows what is in their hands
                engine.pause(on)
                return None
            case ClubMessage(club=club):
                return engine.choose_club(club)
            case LengthsMessage(club_length_m=club_m, arm_length_m=arm_m):
                return engine.set_lengths(club_m, arm_m)
            case ChooseMessage() | PlaceMessage() | SwapMessage() | BlinkMessage():  # whoever stands by the sensors
                return await engine.choose(message)
            case (
                EditDrillMessage() | TryDrillMessage() | SaveDrillMessage()
            ):  # nothing that is in force changes by them
                return engine.lesson.ask(message, coach=coach)
            case (
                MoveMessage()
                | ChooseDrillMessage()
                | DrillTextMessage()
                | BandMessage()
                | SecondMessage()
                | LookAheadMessage()
            ):
                return self._control.refuses(guest) or self._steer(message, coach=coach)
            case _:
                assert_never(message)

    def board(self) -> BoardBay:
        """How it stands now, in short."""
        return shown(self._folded, id=self.id, name=self.name, now_s=self._clock_s())

    def health(self) -> BayHealth:
        """How it fares, in figures."""
        return engine_health(self.engine, bay_id=self.id, name=self.name, control=self._control.holder)

    def _ask_control(self, guest: Guest, *, hold: bool) -> ProblemMessage | None:
        answer = self._control.ask(guest, hold=hold)
        if answer is None or isinstance(answer, ProblemMessage):
            return answer
        self.engine.hub.publish(answer)
        return None

    def _steer(self, message: Steering, *, coach: bool) -> ServerMessage | None:
        match message:
            case MoveMessage(move=move):
                return self.engine.begin_move(move)
            case LookAheadMessage(ms=ms):
                self.engine.look_ahead(ms)
                return None
            case _:
                return self.engine.lesson.ask(message, coach=coach)

    async def _look(self) -> None:
        while True:
            await self._sleep(_LOOK_EVERY_S)
            fallen_back = self._control.look(self._clock_s())
            if fallen_back is not None:
                self.engine.hub.publish(fallen_back)

    def _fold(self, message: ServerMessage) -> None:
        self._folded = fold(self._folded, message, self._clock_s())
        if isinstance(message, HelloMessage):  # after a jump there are other reps than before
            self._folded = replace(self._folded, tally=self.engine.hub.present.tally)
