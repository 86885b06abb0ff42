"""By which name the service is called, and by which page: both must be its own.

A name of somebody else's that was made to point here (DNS rebinding) is in the `Host` header; a page of somebody else's is in
`Origin`. An address of this machine is known by the connection having come in on it, so it stays right when the network changes.
"""

from __future__ import annotations

import ipaddress
import re
import socket
from collections.abc import MutableMapping
from typing import Any, Final
from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Receive, Scope, Send

LOOPBACK_NAMES: Final = ("127.0.0.1", "localhost", "[::1]")
"""Host names that are answered to on this computer."""
_HOST: Final = re.compile(r"(\[[0-9A-Fa-f:.]+\]|[A-Za-z0-9_.-]+)(?::[0-9]{1,5})?")
_PASSED_ON: Final = ("forwarded", "x-forwarded-for", "x-real-ip", "via")
"""Headers of a program that passes on what others ask: then the other side is not this computer, though it looks so."""


def machine_names() -> tuple[str, ...]:
    """What this machine may be called in its own network, besides its addresses."""
    name = socket.gethostname().split(".", 1)[0].lower()
    return (name, f"{name}.local") if name else ()


def called_by(scope: MutableMapping[str, Any]) -> str | None:
    """Give the name or address that the service is called by, without the port; None when it is no name at all."""
    parsed = _HOST.fullmatch(Headers(scope=scope).get("host", ""))
    return parsed[1].lower() if parsed is not None else None


def is_loopback(address: str) -> bool:
    """Whether this is an address of the computer to itself."""
    try:
        ip = ipaddress.ip_address(address)
    except ValueError:
        return False
    mapped = ip.ipv4_mapped if isinstance(ip, ipaddress.IPv6Address) else None
    return (mapped or ip).is_loopback


def is_host(scope: MutableMapping[str, Any]) -> bool:
    """Whether somebody at this very computer asks, by its own name for itself, and nothing passes on for others."""
    client = scope.get("client")
    headers = Headers(scope=scope)
    return (
        client is not None
        and is_loopback(client[0])
        and called_by(scope) in LOOPBACK_NAMES
        and not any(name in headers for name in _PASSED_ON)
    )


def same_origin(scope: MutableMapping[str, Any]) -> bool:
    """Whether a page of this very service asks. Programs that are no browser send no origin and are let in."""
    headers = Headers(scope=scope)
    origin = headers.get("origin")
    if origin is None:
        return True
    parts = urlsplit(origin)
    scheme = "https" if scope["scheme"] in ("https", "wss") else "http"
    return (parts.scheme, parts.netloc) == (scheme, headers.get("host"))


class OwnNames:
    """ASGI middleware that answers only to this machine's names and, on the local network, to the address that was called."""

    def __init__(self, app: ASGIApp, *, names: tuple[str, ...] = ()) -> None:
        self._app = app
        self._names = (*LOOPBACK_NAMES, *names)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or refuse it."""
        if scope["type"] in ("http", "websocket"):
            called = called_by(scope)
            server = scope.get("server")
            if called is None or (called not in self._names and not (server and called == server[0])):
                await PlainTextResponse("Invalid host header", status_code=400)(scope, receive, send)
                return
        await self._app(scope, receive, send)
