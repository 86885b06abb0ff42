"""A scripted server for the page: the built page, and a `/ws/live` and `/ws/board` whose every message a test decides.

What it sends is checked against the contract, except for `raw`, which is how a test sends what the contract forbids.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager, suppress
from typing import Any

from fastapi import FastAPI, Request, Response, WebSocket, WebSocketDisconnect
from fastapi.staticfiles import StaticFiles

from server.wire import SERVER_MESSAGE, FrameMessage, HelloMessage, PhaseMessage
from server.wire_base import Message
from server.wire_board import BoardBay, BoardMessage
from server.wire_client import CLIENT_MESSAGE
from tests.e2e import samples
from tests.e2e.static import STATIC

CSP = "default-src 'self'; style-src 'self' 'unsafe-inline'"
FRAMES_A_SECOND = 50
PATIENCE_S = 30.0
"""For what the page is about to say: a machine that is busy takes its time."""


class Board:
    """What the coach's page hears of all students in short."""

    def __init__(self) -> None:
        self.message = BoardMessage(bays=[])
        self.refuses: tuple[int, str] | None = None
        """Close code and reason for whoever comes."""
        self.n_connections = 0
        self._sockets: set[WebSocket] = set()

    async def show(self, *bays: BoardBay) -> None:
        """Change the board, and tell every page."""
        self.message = BoardMessage(bays=list(bays))
        for socket in tuple(self._sockets):
            await socket.send_text(self.message.model_dump_json())

    async def drop(self) -> None:
        """Close every socket, as a server that goes away does."""
        for socket in tuple(self._sockets):
            await socket.close(code=1012)

    async def serve(self, socket: WebSocket) -> None:
        """One page, from its first board to good-bye."""
        await socket.accept()
        self.n_connections += 1
        if self.refuses is not None:
            await socket.close(*self.refuses)
            return
        await socket.send_text(self.message.model_dump_json())
        self._sockets.add(socket)
        try:
            async for text in socket.iter_text():
                message = CLIENT_MESSAGE.validate_json(text)
                if message.type == "ping":
                    await socket.send_text(json.dumps({"type": "pong", "token": message.token}))
        finally:
            self._sockets.discard(socket)


class Feed:
    """What the page hears, and what it said."""

    def __init__(self) -> None:
        self.hello: HelloMessage = samples.hello()
        self.now: FrameMessage | None = samples.frame()
        """Sent again and again with a rising `seq`; None sends nothing."""
        self.answers_pings = True
        self.refuses = False
        self.turns_away: tuple[int, str] | None = None
        """The code and reason with which every page is closed at once."""
        self.asked_with: list[str] = []
        """The query of each connection."""
        self.heard: asyncio.Queue[Any] = asyncio.Queue()
        """What the page asked for, in order."""
        self.acked_seq = -1
        self.n_connections = 0
        self._seq = 0
        self._timed = samples.frame()
        self.board = Board()
        self.bays: dict[str, Feed] = {}
        """Feeds of their own for pages that ask for `?bay=`; a page that asks for another gets this one."""
        self._sockets: set[WebSocket] = set()

    @property
    def n_open(self) -> int:
        """Pages that are here now."""
        return len(self._sockets)

    async def send(self, message: Message) -> None:
        """Send one message of the contract to every page."""
        await self.raw(SERVER_MESSAGE.dump_json(SERVER_MESSAGE.validate_python(message)).decode())

    async def raw(self, text: str) -> None:
        """Send any text at all."""
        for socket in tuple(self._sockets):
            await socket.send_text(text)

    async def show(self, **changes: Any) -> None:
        """Change the frame that is being repeated, and send it at once."""
        self.now = (self.now or samples.frame()).model_copy(update=changes)
        await self._send_frame()

    async def send_timed(self, message: FrameMessage | PhaseMessage) -> None:
        """Send a frame with its own time, numbered after those sent so far, or a phase."""
        if isinstance(message, FrameMessage):
            self._seq += 1
            message = message.model_copy(update={"seq": self._seq})
            self._timed = message
        await self.send(message)

    async def hold(self, **changes: Any) -> None:
        """Send the newest of those frames once more, a little later and changed."""
        last = self._timed
        await self.send_timed(last.model_copy(update={"t_s": last.t_s + 0.01} | changes))

    async def drop(self, code: int = 1012, reason: str = "") -> None:
        """Close every socket, as a server that goes away does, unless told otherwise."""
        for socket in tuple(self._sockets):
            await socket.close(code, reason)

    async def _send_frame(self) -> None:
        if self.now is None or not self._sockets:
            return
        self._seq += 1
        await self.send(self.now.model_copy(update={"seq": self._seq, "t_s": self._seq / FRAMES_A_SECOND}))

    async def tick(self) -> None:
        """Keep the frame fresh."""
        for feed in (self, *self.bays.values()):
            with suppress(WebSocketDisconnect, RuntimeError):  # a page left while it was being sent to
                await feed._send_frame()

    async def serve(self, socket: WebSocket) -> None:
        """One page, from hello to good-bye."""
        if self.refuses:
            await socket.close()
            return
        await socket.accept()
        self.n_connections += 1
        self.asked_with.append(socket.url.query)
        if self.turns_away is not None:
            await socket.close(*self.turns_away)
            return
        await socket.send_text(SERVER_MESSAGE.dump_json(self.hello).decode())
        self._sockets.add(socket)
        try:
            async for text in socket.iter_text():
                await self._answer(socket, text)
        finally:
            self._sockets.discard(socket)

    async def asked(self) -> Any:
        """What the page asked for next. Raises TimeoutError when it asks nothing."""
        async with asyncio.timeout(PATIENCE_S):
            return await self.heard.get()

    async def _answer(self, socket: WebSocket, text: str) -> None:
        message = CLIENT_MESSAGE.validate_json(text)
        if message.type == "ack":
            self.acked_seq = message.seq
        elif message.type != "ping":
            self.heard.put_nowait(message)
        elif self.answers_pings:
            await socket.send_text(json.dumps({"type": "pong", "token": message.token}))


@asynccontextmanager
async def _repeating(app: FastAPI) -> AsyncIterator[None]:
    async def always() -> None:
        while True:
            await asyncio.sleep(1 / FRAMES_A_SECOND)
            await app.state.feed.tick()

    task = asyncio.create_task(always())
    try:
        yield
    finally:
        task.cancel()


def make_app() -> FastAPI:
    """`app.state.feed` is the present test's feed."""
    app = FastAPI(lifespan=_repeating)
    app.state.feed = Feed()

    @app.middleware("http")
    async def guard(request: Request, call_next: Callable[[Request], Awaitable[Response]]) -> Response:
        response = await call_next(request)
        response.headers["Content-Security-Policy"] = CSP
        return response

    @app.websocket("/ws/live")
    async def live(socket: WebSocket) -> None:
        feed: Feed = app.state.feed
        await feed.bays.get(socket.query_params.get("bay", ""), feed).serve(socket)

    @app.websocket("/ws/board")
    async def board(socket: WebSocket) -> None:
        await app.state.feed.board.serve(socket)

    app.mount("/", StaticFiles(directory=STATIC, html=True))
    return app
