"""`/ws/live`: hello, then the stream of one practice, to a page; acknowledgements, pings and wishes back.

Three tasks a client: one sends, one reads, one waits for its mailbox to overflow. The first to end ends the others.
"""

from __future__ import annotations

import asyncio
import logging
from typing import Final

from fastapi import APIRouter, WebSocket, WebSocketDisconnect
from pydantic import ValidationError

from server.advice import bad_message_advice
from server.bays.bay import Bay
from server.bays.pace import Pace
from server.hub import encode
from server.joining.guest import Guest, guest_of
from server.mailbox import Mailbox
from server.routes.socket import TRY_AGAIN_LATER, bay_for, comes_from_here
from server.service import Service, service_of
from server.tasks import first_of
from server.wire import PongMessage, ProblemMessage, ServerMessage
from server.wire_client import CLIENT_MESSAGE, AckMessage, BlinkMessage, ClientMessage, PingMessage, Wish
from server.wire_lesson import MarkRepMessage, SayMessage, WriteNoteMessage

_log = logging.getLogger(__name__)

MAX_MESSAGE_BYTES: Final = 4096
"""What a client may say at once is far shorter. The protocol layer cuts off at `server.web.MAX_FRAME_BYTES`."""
_CLOSING_S: Final = 1.0

router = APIRouter()


@router.websocket("/ws/live")
async def live(websocket: WebSocket) -> None:
    """Serve one client until it leaves or falls behind."""
    service = service_of(websocket)
    if not await comes_from_here(websocket, service):
        return
    guest = guest_of(websocket)
    bay = await bay_for(websocket, service, guest)
    if bay is None:
        return
    await websocket.accept()
    mailbox = bay.join(guest)
    _log.info("a %s joined %s", guest.role, bay.id)
    try:
        await first_of(
            _send(websocket, mailbox),
            _read(websocket, _Reader(mailbox, service, bay, guest)),
            mailbox.overflowed.wait(),
        )
    finally:
        bay.leave(mailbox)
        _log.info("a %s left %s", guest.role, bay.id)
    if mailbox.overflowed.is_set():
        await _close_stalled(websocket)


async def _send(websocket: WebSocket, mailbox: Mailbox) -> None:
    while True:
        text = await mailbox.take()
        try:
            await websocket.send_text(text)
        except (WebSocketDisconnect, RuntimeError):
            # RuntimeError: the protocol layer has just closed (a client that answers no ping) and its news is still queued.
            return


async def _close_stalled(websocket: WebSocket) -> None:
    """Say good-bye if the client can still hear it; its buffers may be as full as its mailbox."""
    try:
        async with asyncio.timeout(_CLOSING_S):
            await websocket.close(TRY_AGAIN_LATER, "too far behind: connect again")
    except (TimeoutError, WebSocketDisconnect, RuntimeError):
        return


async def _read(websocket: WebSocket, reader: _Reader) -> None:
    async with asyncio.TaskGroup() as asks:
        while (event := await websocket.receive())["type"] != "websocket.disconnect":
            await reader.take(event.get("text"), asks)
        reader.stop()


class _Reader:
    """What one client says, and the one thing it may ask for that takes a while."""

    def __init__(self, mailbox: Mailbox, service: Service, bay: Bay, guest: Guest) -> None:
        self._mailbox = mailbox
        self._service = service
        self._bay = bay
        self._guest = guest
        self._pace = Pace()
        self._blink: asyncio.Task[None] | None = None

    async def take(self, text: str | None, asks: asyncio.TaskGroup) -> None:
        """Do what a message asks for."""
        match parse(text):
            case None:
                self._service.n_bad_messages += 1
                self._answer(ProblemMessage(code="bad_message", text=bad_message_advice()))
            case AckMessage(seq=seq):
                self._mailbox.acknowledge(seq)
            case PingMessage(token=token):
                self._mailbox.put_event(encode(PongMessage(token=token)))
            case BlinkMessage() as message if not self._guest.only_watches:
                # Answered when the sensor has answered, seconds later; the client is read on meanwhile.
                if self._blink is None or self._blink.done():
                    self._blink = asks.create_task(self._ask(message), name="blink")
            case MarkRepMessage() | WriteNoteMessage() | SayMessage() if not self._pace.allows():
                text = (
                    "That was too many marks, notes and messages at once. Wait a few seconds, then send this one again."
                )
                self._answer(ProblemMessage(code="too_fast", text=text))
            case message:
                await self._ask(message)

    def stop(self) -> None:
        """The client has gone: nobody waits for an answer any more."""
        if self._blink is not None:
            self._blink.cancel()

    async def _ask(self, message: Wish) -> None:
        self._answer(await self._bay.ask(self._guest, message))

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
