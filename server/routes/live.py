"""`/ws/live`: hello, then the stream, to a page; acknowledgements, pings and fit poses back.

Three tasks a client: one sends, one reads, one waits for its mailbox to overflow. The first to end ends the others.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Coroutine
from typing import Any, Final

from fastapi import APIRouter, WebSocket, WebSocketDisconnect
from pydantic import ValidationError

from server.advice import bad_message_advice, viewers_watch_advice
from server.hub import encode
from server.joining.guest import Guest, GuestRole, guest_of
from server.joining.hosts import same_origin
from server.mailbox import Mailbox
from server.service import Service, service_of
from server.wire import PongMessage, ProblemMessage, ServerMessage
from server.wire_client import (
    CLIENT_MESSAGE,
    AckMessage,
    BandMessage,
    BlinkMessage,
    ChooseDrillMessage,
    ChooseMessage,
    ClientMessage,
    ClubMessage,
    DrillTextMessage,
    EditDrillMessage,
    LookAheadMessage,
    MoveMessage,
    PauseMessage,
    PingMessage,
    PlaceMessage,
    SaveDrillMessage,
    SecondMessage,
    SwapMessage,
    TryDrillMessage,
)

_log = logging.getLogger(__name__)

MAX_MESSAGE_BYTES: Final = 4096
"""What a client may say at once is far shorter. The protocol layer cuts off at `server.run.MAX_FRAME_BYTES`."""
TRY_AGAIN_LATER: Final = 1013
POLICY_VIOLATION: Final = 1008
_CLOSING_S: Final = 1.0

router = APIRouter()


@router.websocket("/ws/live")
async def live(websocket: WebSocket) -> None:
    """Serve one client until it leaves or falls behind."""
    service = service_of(websocket)
    if not same_origin(websocket.scope):
        service.n_refused_origins += 1
        await websocket.close(POLICY_VIOLATION)
        return
    await websocket.accept()
    guest = guest_of(websocket)
    hub = service.engine.hub
    mailbox = hub.join()
    _log.info("a client joined, %d now", len(hub.mailboxes))
    try:
        await _first_of(_send(websocket, mailbox), _read(websocket, mailbox, service, guest), _overflow(mailbox))
    finally:
        hub.leave(mailbox)
        _log.info("a client left, %d now", len(hub.mailboxes))
    if mailbox.overflowed.is_set():
        await _close_stalled(websocket)


async def _first_of(*jobs: Coroutine[Any, Any, None]) -> None:
    async with asyncio.TaskGroup() as group:
        tasks = [group.create_task(job, name="live client") for job in jobs]
        await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
        for task in tasks:
            task.cancel()


async def _send(websocket: WebSocket, mailbox: Mailbox) -> None:
    while True:
        text = await mailbox.take()
        try:
            await websocket.send_text(text)
        except (WebSocketDisconnect, RuntimeError):
            # RuntimeError: the protocol layer has just closed (a client that answers no ping) and its news is still queued.
            return


async def _overflow(mailbox: Mailbox) -> None:
    await mailbox.overflowed.wait()


async def _close_stalled(websocket: WebSocket) -> None:
    """Say good-bye if the client can still hear it; its buffers may be as full as its mailbox."""
    try:
        async with asyncio.timeout(_CLOSING_S):
            await websocket.close(TRY_AGAIN_LATER, "too far behind: connect again")
    except (TimeoutError, WebSocketDisconnect, RuntimeError):
        return


async def _read(websocket: WebSocket, mailbox: Mailbox, service: Service, guest: Guest) -> None:
    async with asyncio.TaskGroup() as asks:
        reader = _Reader(mailbox, service, guest, asks)
        while (event := await websocket.receive())["type"] != "websocket.disconnect":
            await reader.take(event.get("text"))
        reader.stop()


class _Reader:
    """What one client says, and the one thing it may ask for that takes a while."""

    def __init__(self, mailbox: Mailbox, service: Service, guest: Guest, asks: asyncio.TaskGroup) -> None:
        self._mailbox = mailbox
        self._service = service
        self._guest = guest
        self._asks = asks
        self._blink: asyncio.Task[None] | None = None

    async def take(self, text: str | None) -> None:  # noqa: C901  # a table: one case a message
        """Do what a message asks for."""
        engine = self._service.engine
        match parse(text):
            case None:
                self._service.n_bad_messages += 1
                self._answer(ProblemMessage(code="bad_message", text=bad_message_advice()))
            case AckMessage(seq=seq):
                self._mailbox.acknowledge(seq)
            case PingMessage(token=token):
                self._mailbox.put_event(encode(PongMessage(token=token)))
            case _ if self._guest.only_watches:
                self._answer(ProblemMessage(code="viewers_watch", text=viewers_watch_advice()))
            case MoveMessage(move=move):
                self._answer(engine.begin_move(move))
            case (
                ChooseDrillMessage()
                | DrillTextMessage()
                | BandMessage()
                | SecondMessage()
                | EditDrillMessage()
                | TryDrillMessage()
                | SaveDrillMessage()
            ) as message:
                self._answer(engine.lesson.ask(message, coach=self._guest.role is GuestRole.COACH))
            case LookAheadMessage(ms=ms):
                engine.look_ahead(ms)
            case PauseMessage(on=on):
                engine.pause(on)
            case ClubMessage(club=club):
                self._answer(engine.choose_club(club))
            case BlinkMessage() as message:
                # Answered when the sensor has answered, seconds later; the client is read on meanwhile.
                if self._blink is None or self._blink.done():
                    self._blink = self._asks.create_task(self._choose(message), name="blink")
            case message:
                await self._choose(message)

    def stop(self) -> None:
        """The client has gone: nobody waits for an answer any more."""
        if self._blink is not None:
            self._blink.cancel()

    async def _choose(self, message: ChooseMessage | PlaceMessage | SwapMessage | BlinkMessage) -> None:
        self._answer(await self._service.engine.choose(message))

    def _answer(self, answer: ServerMessage | None) -> None:
        if answer is not None:
            self._mailbox.put_event(encode(answer))


def parse(text: str | None) -> ClientMessage | None:
    """Check what a client said; None when it is binary, too long, not JSON, or not in the contract."""
    if text is None or len(text) > MAX_MESSAGE_BYTES or len(text.encode()) > MAX_MESSAGE_BYTES:
        return None
    try:
        return CLIENT_MESSAGE.validate_json(text)
    except ValidationError:
        return None
