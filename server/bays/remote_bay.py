"""A practice of another computer, told over a bus; satisfies `server.bays.bay.Bay`.

Rule 1: what the board shows of it is its own word, and none of it once its computer has been silent for `AWAY_AFTER_S`.
Rule 2: it is followed in full only while somebody here looks at it.
Rule 3: a stream with a hole in it is begun anew: no page sees a state that never was.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from typing import Final

from pydantic import ValidationError

from server.advice import viewers_watch_advice
from server.bays.health import BayHealth, RemoteHealth, remote_health
from server.bus.bus import Bus
from server.bus.messages import ANSWER, AWAY_AFTER_S, HERE_EVERY_S, AskMessage, GuestsMessage, HereMessage, LiveMessage
from server.bus.requests import Requests
from server.bus.subjects import BayAddress
from server.hub import Hub
from server.joining.guest import Guest, GuestRole
from server.mailbox import Mailbox
from server.present import present_of
from server.wire import HelloMessage, ProblemMessage, ServerMessage
from server.wire_board import BoardBay
from server.wire_client import BlinkMessage, ChooseMessage, PlaceMessage, SwapMessage, Wish
from server.wire_lesson import BayRef

AWAY: Final = "bay_away"
_PATIENCE_S: Final = 3.0
_SENSOR_PATIENCE_S: Final = 15.0
"""Of what a sensor has to answer first."""


def away_text(host: str, *, left: bool) -> str:
    """Say why nothing comes."""
    if left:
        return (
            f"This practice was stopped on its computer ({host}). When it is started again, it appears here by itself."
        )
    return (
        f"The computer of this practice ({host}) does not answer the bus. The practice itself may go on there, sound and all. "
        "Check that computer's network; it comes back by itself."
    )


class RemoteBay:
    """`heard` and `told` are called for what comes from it; `await run()` tells it who is here."""

    def __init__(
        self,
        bus: Bus,
        requests: Requests,
        *,
        id: str,  # noqa: A002  # as the protocol has it
        address: BayAddress,
        here: HereMessage,
        board: str,
        clock_s: Callable[[], float] = time.monotonic,
    ) -> None:
        self.id = id
        self.name = here.board.name
        self.address = address
        self.n_refused = 0
        self._bus = bus
        self._requests = requests
        self._board = board
        self._clock_s = clock_s
        self._here = here
        self._heard_s = clock_s()
        self._hub: Hub | None = None
        self._mailboxes: dict[Mailbox, Guest] = {}
        self._coaches = 0
        self._last_n = 0
        self._again = 0
        self._n_holes = 0
        self._told_away = False
        self._asked_s = -HERE_EVERY_S
        self._changed = asyncio.Event()

    @property
    def host(self) -> str:
        """What its computer is called."""
        return self._here.host

    @property
    def left(self) -> bool:
        """Its service was stopped."""
        return self._here.left

    @property
    def silent_s(self) -> float:
        """How long nothing has come."""
        return self._clock_s() - self._heard_s

    @property
    def away(self) -> bool:
        """Whether what is known of it is of the past."""
        return self.left or self.silent_s > AWAY_AFTER_S

    @property
    def n_guests(self) -> int:
        """Who looks at it here."""
        return len(self._mailboxes)

    async def run(self) -> None:
        """Tell it who is here until cancelled."""
        while True:
            self._changed.clear()
            said = GuestsMessage(
                board=self._board, coaches=min(self._coaches, 20), follow=bool(self._mailboxes), again=self._again
            )
            await self._bus.publish(self.address.guests, said.model_dump_json().encode())
            try:
                async with asyncio.timeout(HERE_EVERY_S):
                    await self._changed.wait()
            except TimeoutError:
                continue

    def heard(self, address: BayAddress, here: HereMessage) -> None:
        """It is there: the same one, or the same practice begun anew."""
        if address != self.address:
            self.address, self._last_n = address, 0
            self._changed.set()
        self._here, self._heard_s = here, self._clock_s()
        self.look()

    def told(self, data: bytes) -> None:
        """Take in what pages are told there."""
        try:
            live = LiveMessage.model_validate_json(data)
        except ValidationError:
            self.n_refused += 1
            return
        message = live.message
        self._heard_s = self._clock_s()
        if live.n == 1 and isinstance(message, HelloMessage):
            self._begin(message)
        elif self._last_n and live.n == self._last_n + 1 and self._hub is not None:
            if isinstance(message, HelloMessage):
                self._begin(message)
            else:
                self._hub.publish(message)
        else:
            self._hole()
            return
        self._last_n = live.n

    def join(self, guest: Guest) -> Mailbox:
        """Let a client in: it is greeted as soon as the practice has told how it stands."""
        is_followed = self._last_n > 0 and bool(self._mailboxes)
        if self._hub is not None and (is_followed or self.away):
            mailbox = self._hub.join()
        else:
            mailbox = Mailbox()
            if self._hub is not None:
                self._hub.adopt(mailbox)
        self._mailboxes[mailbox] = guest
        self.watch(guest)
        return mailbox

    def leave(self, mailbox: Mailbox) -> None:
        """Forget a client."""
        guest = self._mailboxes.pop(mailbox)
        if self._hub is not None:
            self._hub.leave(mailbox)
        if not self._mailboxes:  # whoever comes next is told from the beginning, however soon that is
            self._last_n = 0
            self._again += 1
        self.unwatch(guest)

    def watch(self, guest: Guest) -> None:
        """Somebody looks at the board."""
        self._coaches += guest.role is GuestRole.COACH
        self._changed.set()

    def unwatch(self, guest: Guest) -> None:
        """They do so no longer."""
        self._coaches -= guest.role is GuestRole.COACH
        self._changed.set()

    async def ask(self, guest: Guest, message: Wish) -> ServerMessage | None:
        """Ask it; gives its answer, or why there is none."""
        if guest.only_watches:
            return ProblemMessage(code="viewers_watch", text=viewers_watch_advice())
        if guest.role is not GuestRole.COACH:
            text = (
                "From this board only a coach can change a practice. Students do so on the page of their own computer."
            )
            return ProblemMessage(code="coach_only", text=text)
        if self.away:
            return ProblemMessage(code=AWAY, text=away_text(self.host, left=self.left))
        slow = isinstance(message, BlinkMessage | ChooseMessage | PlaceMessage | SwapMessage)
        said = AskMessage(name=guest.name[:80], message=message).model_dump_json().encode()
        answer = await self._requests.ask(
            self.address.ask, said, patience_s=_SENSOR_PATIENCE_S if slow else _PATIENCE_S
        )
        if answer is None:
            text = (
                f"The computer of this practice ({self.host}) did not answer, so this may not have been done. Look what it shows "
                "before you try again."
            )
            return ProblemMessage(code="no_answer", text=text)
        try:
            return ANSWER.validate_json(answer)
        except ValidationError:
            self.n_refused += 1
            return ProblemMessage(
                code="no_answer", text=f"The answer of {self.host} cannot be understood. Is it of this version?"
            )

    def board(self) -> BoardBay:
        """How it stands by its own word, if that is of now."""
        named = {"id": self.id, "name": self.name}
        if not self.away:
            return self._here.board.model_copy(update=named)
        past = {
            "status": "away", "phase": None, "bend_change_deg": None, "shaft_pitch_deg": None, "sounding": False,
            "problem": away_text(self.host, left=self.left),
        }  # fmt: skip
        return self._here.board.model_copy(update=named | past)

    def health(self) -> BayHealth:
        """How it fares, in figures."""
        fares = RemoteHealth(
            host=self.host,
            away=self.away,
            silent_s=round(self.silent_s, 1),
            refused=self.n_refused,
            holes=self._n_holes,
        )
        return remote_health(self._hub, self._here.board, bay_id=self.id, name=self.name, fares=fares)

    def _begin(self, hello: HelloMessage) -> None:
        before = self._hub.present if self._hub is not None else None
        present = present_of(hello.model_copy(update={"bay": BayRef(id=self.id, name=self.name)}), before)
        if self._hub is None:
            self._hub = Hub(present)
            for mailbox in self._mailboxes:
                self._hub.adopt(mailbox)
        else:
            self._hub.present = present
        self._hub.renew()

    def _hole(self) -> None:
        """Something was lost: all is told anew. What was on its way already is let pass."""
        if self._last_n:
            self._last_n = 0
            self._n_holes += 1
        if self._mailboxes and self._clock_s() - self._asked_s >= HERE_EVERY_S:
            self._asked_s = self._clock_s()
            self._again += 1
            self._changed.set()

    def look(self) -> None:
        """Tell the guests when it has gone away and when it is back; called once a second, whatever the bus does."""
        if self.away == self._told_away or self._hub is None:
            return
        self._told_away = self.away
        if self.away:
            self._last_n = 0
            self._hub.publish(ProblemMessage(code=AWAY, text=away_text(self.host, left=self.left)))
        else:
            self._hub.present.solved(AWAY)
            self._again += 1  # what was told meanwhile was lost: a hello follows, and with it the problem goes
            self._changed.set()
