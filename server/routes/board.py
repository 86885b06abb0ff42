"""`/ws/board`: every practice of this service in short, to a coach or a viewer. The newest wins; a slow client skips the rest."""

from __future__ import annotations

import asyncio
from typing import Final

from fastapi import APIRouter, WebSocket, WebSocketDisconnect

from server.bays.bay import Bay, Bays
from server.hub import encode
from server.joining.guest import Guest, GuestRole, guest_of
from server.routes.live import parse
from server.routes.socket import NOT_YOURS, comes_from_here, refuse
from server.service import service_of
from server.tasks import first_of
from server.wire import PongMessage
from server.wire_client import PingMessage

EVERY_S: Final = 0.2
"""As often as a figure can still be read while it changes: the length of a tick."""

router = APIRouter()


@router.websocket("/ws/board")
async def board(websocket: WebSocket) -> None:
    """Serve one client until it leaves."""
    service = service_of(websocket)
    if not await comes_from_here(websocket, service):
        return
    guest = guest_of(websocket)
    if guest.role is GuestRole.STUDENT or guest.bay is not None:
        await refuse(
            websocket, NOT_YOURS, "The board of all practices is for the coach. Ask the coach for a link to it."
        )
        return
    await websocket.accept()
    attending: dict[Bay, None] = {}
    try:
        await first_of(_send(websocket, service.bays, guest, attending), _read(websocket))
    finally:
        for bay in attending:
            bay.unwatch(guest)


async def _send(websocket: WebSocket, bays: Bays, guest: Guest, attending: dict[Bay, None]) -> None:
    """Send the board, and be there for every practice on it, those too that come later."""
    now_s = asyncio.get_running_loop().time
    shown = ""
    while True:
        tick = int(now_s() / EVERY_S)
        board = bays.board(tick)
        for bay in bays:
            if bay not in attending:
                attending[bay] = None
                bay.watch(guest)
        if board != shown:
            shown = board
            try:
                await websocket.send_text(board)
            except (WebSocketDisconnect, RuntimeError):  # RuntimeError: see `server.routes.live`
                return
        await asyncio.sleep((tick + 1) * EVERY_S - now_s())  # all wake in the same tick


async def _read(websocket: WebSocket) -> None:
    """Nothing can be asked for here but whether the link holds; whoever wants something says it to a practice.

    A board on which nothing happens says nothing for minutes: a page could not tell it from a link that is dead.
    """
    while (event := await websocket.receive())["type"] != "websocket.disconnect":
        message = parse(event.get("text"))
        if isinstance(message, PingMessage):
            try:
                await websocket.send_text(encode(PongMessage(token=message.token)))
            except (WebSocketDisconnect, RuntimeError):
                return
