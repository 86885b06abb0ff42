"""Puts the API under the service's address.

It and the database's library are loaded only when somebody first asks: the service must begin at once, and its live path must
not wait.
"""

from __future__ import annotations

import asyncio
import re
from typing import Final

from fastapi import FastAPI
from starlette.routing import Mount
from starlette.types import ASGIApp, Receive, Scope, Send

from server.api.archive import Archive
from server.joining.guest import PlayerOf

PREFIX: Final = "/api"


class LazyApi:
    """ASGI application that makes the real one at the first request, in a thread."""

    def __init__(self, archive: Archive, player_of: PlayerOf) -> None:
        self._archive = archive
        self._player_of = player_of
        self._api: ASGIApp | None = None
        self._lock = asyncio.Lock()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on."""
        async with self._lock:
            if self._api is None:
                self._api = await asyncio.to_thread(_load, self._archive, self._player_of)
        await self._api(scope, receive, send)


def mount_api(app: FastAPI, archive: Archive, player_of: PlayerOf) -> None:
    """Answer what begins with `PREFIX` and is not answered by a route before it.

    `player_of` tells whose practice a guest has joined.
    """
    mount = Mount(PREFIX, LazyApi(archive, player_of))
    mount.path_regex = re.compile(mount.path_regex.pattern, re.DOTALL)  # a line feed in an address is no way past it
    app.router.routes.append(mount)


def _load(archive: Archive, player_of: PlayerOf) -> ASGIApp:
    from server.api.api import make_api  # noqa: PLC0415  # see the top

    return make_api(archive, player_of)
