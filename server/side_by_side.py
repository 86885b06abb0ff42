"""Several web servers for one application: one that obeys the signals and runs it, and others that go as it goes."""

from __future__ import annotations

import asyncio
import contextlib
import socket
import ssl
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import uvicorn


class TlsConfig(uvicorn.Config):
    """With a context of our own making, in which certificates can be renewed. The application is run by another server."""

    def __init__(self, app: Callable[..., object], *, context: ssl.SSLContext, **settings: Any) -> None:
        super().__init__(app, lifespan="off", **settings)
        self._context = context

    def load(self) -> None:
        """Make ready."""
        super().load()
        self.ssl = self._context


class Beside(uvicorn.Server):
    """Obeys the first server and no signal."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Leave signals to the first."""
        yield


class First(uvicorn.Server):
    """Runs the application, and the others for as long."""

    def __init__(self, config: uvicorn.Config, others: Sequence[tuple[Beside, socket.socket]] = ()) -> None:
        super().__init__(config)
        self._others = others
        self._running: list[asyncio.Task[None]] = []

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Start, then the others."""
        await super().startup(sockets)
        if self.should_exit:
            return
        self._running = [
            asyncio.create_task(other.serve(sockets=[listener]), name="web server beside")
            for other, listener in self._others
        ]
        while not all(  # noqa: ASYNC110  # a server tells of its start in no other way
            other.started for other, _ in self._others
        ) and not any(task.done() for task in self._running):
            await asyncio.sleep(0.005)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Stop the others, then this: practices go on until nobody is connected."""
        for other, _ in self._others:
            other.should_exit = True
        try:
            await asyncio.gather(*self._running)
        finally:
            await super().shutdown(sockets)
