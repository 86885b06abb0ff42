"""The door to the local network: an ASGI middleware round everything that the service serves.

Rule 1: nothing passes without a guest's own secret, in a cookie; only this very computer needs none.
Rule 2: what a connection says of itself counts for nothing here: who it is stands in the book.
Rule 3: a guest who is sent away is gone at once, open sockets included.
Rule 4: no secret is logged or named in an answer, but in the cookie.
Rule 5: where the service is encrypted, nobody from elsewhere is let in, or listened to, without encryption.
"""

from __future__ import annotations

import asyncio
import contextlib
import re
from http.cookies import CookieError, SimpleCookie
from typing import Final

from starlette.datastructures import Headers
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.joining.book import STAY_S, Full, GuestBook, Link, Visit
from server.joining.device import device_name
from server.joining.guest import GuestRole, admit
from server.joining.hosts import is_host
from server.joining.limit import GuessLimit
from server.joining.pages import come_in_page, full_page, not_in_page, too_many_guesses_page

SENT_AWAY: Final = 4403
"""The code by which a socket of a guest who was sent away is closed."""
SENT_AWAY_REASON: Final = "sent away"
_JOIN: Final = re.compile(r"/join/([^/]*)/?")
_TARGETS: Final = {GuestRole.STUDENT: "/", GuestRole.COACH: "/#coach", GuestRole.VIEWER: "/"}
_CLOSING_S: Final = 1.0
TRUST: Final = "/trust"
"""Where one is told how a device comes to trust this computer."""
_NO_STORE: Final = {"Cache-Control": "no-store"}


class Door:
    """Lets in by the book. `secure` when the service is reached over TLS only."""

    def __init__(
        self,
        app: ASGIApp,
        book: GuestBook,
        *,
        secure: bool,
        links: GuessLimit | None = None,
        secrets: GuessLimit | None = None,
    ) -> None:
        self._app = app
        self._book = book
        self._secure = secure
        self._wrong_links = links or GuessLimit(most=10, within_s=60.0)
        # A page left open since the last practice knocks every few seconds; it must not lock out its own device.
        self._wrong_secrets = secrets or GuessLimit(most=120, within_s=60.0)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let it pass, or show it the way."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        host = is_host(scope)
        if self._secure and not host and scope["scheme"] not in ("https", "wss"):
            await _refuse(scope, receive, send, RedirectResponse(TRUST, status_code=303, headers=_NO_STORE))
            return
        if scope["type"] == "http" and (asked := _JOIN.fullmatch(scope["path"])):
            await self._join(scope, asked[1], host=host)(scope, receive, send)
            return
        if host:
            await self._app(scope, receive, send)
            return
        address = _address(scope)
        wait_s = self._wrong_secrets.wait_s(address)
        said = _cookie(scope)
        visit = self._book.visit(said) if said and not wait_s else None
        if visit is None:
            if said and not wait_s:
                self._wrong_secrets.wrong(address)
            await _refuse(scope, receive, send, too_many_guesses_page(wait_s) if wait_s else not_in_page())
            return
        admit(scope, visit.guest)
        if scope["type"] == "http":
            await self._app(scope, receive, send)
        else:
            await self._stay(visit, scope, receive, send)

    def _join(self, scope: Scope, said: str, *, host: bool) -> Response:
        address = _address(scope)
        wait_s = self._wrong_links.wait_s(address)
        if wait_s:
            return too_many_guesses_page(wait_s)
        link = self._book.link(said)
        if link is None:
            self._wrong_links.wrong(address)
            return not_in_page()
        if scope["method"] != "GET":
            return Response(status_code=405, headers={"Allow": "GET", "Cache-Control": "no-store"})
        before = self._book.visit(_cookie(scope))
        if host or (before is not None and before.link == link):  # in already
            return come_in_page(_TARGETS[link.role])
        return self._enter(scope, link, before)

    def _enter(self, scope: Scope, link: Link, before: Visit | None) -> Response:
        address = _address(scope)
        name = device_name(Headers(scope=scope).get("user-agent", "")) or address
        try:
            visit = self._book.join(link, name=name, address=address)
        except Full:
            return full_page()
        if before is not None:
            self._book.leave(before)
        answer = come_in_page(_TARGETS[link.role])
        answer.set_cookie(
            cookie_name(scope),
            visit.token,
            max_age=int(STAY_S),
            path="/",
            secure=self._secure,
            httponly=True,
            samesite="strict",
        )
        return answer

    async def _stay(self, visit: Visit, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve a socket until it, or the visit, is over."""
        accepted = False

        async def send_on(message: Message) -> None:
            nonlocal accepted
            accepted = accepted or message["type"] == "websocket.accept"
            await send(message)

        visit.n_open += 1
        serving = asyncio.ensure_future(self._app(scope, receive, send_on))
        ended = asyncio.ensure_future(visit.ended.wait())
        try:
            await asyncio.wait((serving, ended), return_when=asyncio.FIRST_COMPLETED)
        finally:
            visit.n_open -= 1
            ended.cancel()
            serving.cancel()
            await asyncio.wait((serving,))
        if serving.cancelled():
            await _close(send, SENT_AWAY if accepted else 1008)
        else:
            serving.result()


async def _close(send: Send, code: int) -> None:
    """Say good-bye if the other side can still hear it."""
    with contextlib.suppress(TimeoutError, OSError, RuntimeError):
        async with asyncio.timeout(_CLOSING_S):
            await send({"type": "websocket.close", "code": code, "reason": SENT_AWAY_REASON})


async def _refuse(scope: Scope, receive: Receive, send: Send, answer: Response) -> None:
    if scope["type"] == "http":
        await answer(scope, receive, send)
    else:
        await send({"type": "websocket.close", "code": 1008})


def cookie_name(scope: Scope) -> str:
    """Name the cookie by the port: a browser keeps one set for all services of a machine. `__Host-` needs TLS."""
    port = (scope.get("server") or ("", 0))[1]
    prefix = "__Host-" if scope["scheme"] in ("https", "wss") else ""
    return f"{prefix}pitchbend-{port}"


def _cookie(scope: Scope) -> str:
    try:
        morsel = SimpleCookie(Headers(scope=scope).get("cookie", "")).get(cookie_name(scope))
    except CookieError:
        return ""
    return morsel.value if morsel is not None else ""


def _address(scope: Scope) -> str:
    client = scope.get("client")
    return str(client[0]) if client else "?"
