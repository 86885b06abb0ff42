"""What the websocket routes have in common: whom they let in, how they say no."""

from __future__ import annotations

from typing import Final

from fastapi import WebSocket

from server.bays.bay import Bay
from server.joining.guest import Guest
from server.joining.hosts import same_origin
from server.service import Service

TRY_AGAIN_LATER: Final = 1013
POLICY_VIOLATION: Final = 1008
NOT_YOURS: Final = 4403
NO_SUCH_BAY: Final = 4404
"""Codes from 4000 on are an application's own (RFC 6455, section 7.4.2): a page can read them, and the reason beside them."""


async def comes_from_here(websocket: WebSocket, service: Service) -> bool:
    """Whether a page of this service asks; one of somebody else's is closed and counted."""
    if same_origin(websocket.scope):
        return True
    service.n_refused_origins += 1
    await websocket.close(POLICY_VIOLATION)
    return False


async def refuse(websocket: WebSocket, code: int, reason: str) -> None:
    """Let a client in only to tell it why it must go: of a connection that is never made a page learns nothing."""
    await websocket.accept()
    await websocket.close(code, reason)


async def bay_for(websocket: WebSocket, service: Service, guest: Guest) -> Bay | None:
    """Find the practice that a client wants, by default its own and else the first; None when it has been refused."""
    wanted = websocket.query_params.get("bay") or guest.bay
    if guest.bay is not None and wanted != guest.bay:
        await refuse(websocket, NOT_YOURS, "This link belongs to another practice. Ask the coach for one to this.")
        return None
    bay = service.bays.find(wanted)
    if bay is None and not wanted:
        await refuse(websocket, NO_SUCH_BAY, "There is no practice here yet. Load this page again when one has begun.")
    elif bay is None:
        await refuse(websocket, NO_SUCH_BAY, "There is no practice of that name here. Ask for its address again.")
    return bay
