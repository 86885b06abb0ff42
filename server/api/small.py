"""Keeps what is sent short: FastAPI holds a body in memory as a whole. Recordings are received another way, onto the disk."""

from __future__ import annotations

from typing import Final

from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MOST_BYTES: Final = 65_536
_ANY_SIZE: Final = "/recordings"


class SmallBodies:
    """ASGI middleware."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, and refuse it once its body is too long."""
        if scope["type"] != "http" or scope["path"].endswith(_ANY_SIZE):
            await self._app(scope, receive, send)
            return
        n_bytes = 0

        async def counted() -> Message:
            nonlocal n_bytes
            message = await receive()
            n_bytes += len(message.get("body", b""))
            if n_bytes > MOST_BYTES:
                raise HTTPException(413)
            return message

        announced = Headers(scope=scope).get("content-length", "")
        if announced.isdecimal() and (len(announced) > 10 or int(announced) > MOST_BYTES):
            n_bytes = MOST_BYTES + 1  # found out when it is read, by a route that reads it
        await self._app(scope, counted, send)
