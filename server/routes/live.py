"""`/ws/live`: hello, then the stream, to a page; acknowledgements, pings and fit poses back.

Three tasks a client: one sends, one reads, one waits for its mailbox to overflow. The first to end ends the others.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Coroutine
from typing import Any, Final
from urllib.parse import urlsplit

from fastapi import APIRouter, WebSocket, WebSocketDisconnect
from pydantic import ValidationError
from starlette.datastructures import Headers

from server.advice import bad_message_advice
from server.hub import encode
from server.mailbox import Mailbox
from server.service import Service, service_of
from server.wire import (
    CLIENT_MESSAGE,
    AckMessage,
    ChooseDrillMessage,
    ClientMessage,
    LookAheadMessage,
    MoveMessage,
    PingMessage,
    PongMessage,
    ProblemMessage,
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
    if not same_origin(websocket.headers):
        service.n_refused_origins += 1
        await websocket.close(POLICY_VIOLATION)
        return
    await websocket.accept()
    hub = service.engine.hub
    mailbox = hub.join()
    _log.info("a client joined, %d now", len(hub.mailboxes))
    try:
        await _first_of(_send(websocket, mailbox), _read(websocket, mailbox, service), _overflow(mailbox))
    finally:
        hub.leave(mailbox)
        _log.info("a client left, %d now", len(hub.mailboxes))
    if mailbox.overflowed.is_set():
        await _close_stalled(websocket)


def same_origin(headers: Headers) -> bool:
    """Whether a page of this very service asks. Programs that are no browser send no origin and are let in."""
    origin = headers.get("origin")
    return origin is None or urlsplit(origin).netloc == headers.get("host")


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


async def _read(websocket: WebSocket, mailbox: Mailbox, service: Service) -> None:
    while True:
        event = await websocket.receive()
        if event["type"] == "websocket.disconnect":
            return
        message = parse(event.get("text"))
        if message is None:
            service.n_bad_messages += 1
            mailbox.put_event(encode(ProblemMessage(code="bad_message", text=bad_message_advice())))
            continue
        match message:
            case AckMessage():
                mailbox.acknowledge(message.seq)
            case PingMessage():
                mailbox.put_event(encode(PongMessage(token=message.token)))
            case MoveMessage():
                _refuse(mailbox, service.engine.begin_move(message.move))
            case ChooseDrillMessage():
                _refuse(mailbox, service.engine.choose_drill(message.id))
            case LookAheadMessage():
                service.engine.look_ahead(message.ms)


def _refuse(mailbox: Mailbox, problem: ProblemMessage | None) -> None:
    """Tell a client why its wish was not granted, if so."""
    if problem is not None:
        mailbox.put_event(encode(problem))


def parse(text: str | None) -> ClientMessage | None:
    """Check what a client said; None when it is binary, too long, not JSON, or not in the contract."""
    if text is None or len(text) > MAX_MESSAGE_BYTES or len(text.encode()) > MAX_MESSAGE_BYTES:
        return None
    try:
        return CLIENT_MESSAGE.validate_json(text)
    except ValidationError:
        return None
