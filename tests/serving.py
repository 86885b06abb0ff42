"""A web server in the test's own process, on a free port, of loopback unless told otherwise."""

from __future__ import annotations

import asyncio
import contextlib
import socket
from collections.abc import AsyncIterator

import uvicorn

from server.web import HOST, listen


@contextlib.asynccontextmanager
async def serving(
    server: uvicorn.Server, host: str = HOST, *, listener: socket.socket | None = None
) -> AsyncIterator[int]:
    """Run it for the length of the block; gives the port."""
    listener = listener or listen(0, host)
    task = asyncio.create_task(server.serve(sockets=[listener]), name="web server under test")
    while not server.started and not task.done():
        await asyncio.sleep(0.005)
    try:
        yield listener.getsockname()[1]
    finally:
        await stop_listening(listener)
        server.should_exit = True
        await task
        listener.close()


async def stop_listening(listener: socket.socket) -> None:
    """Take in nobody else. Whom asyncio (Python 3.11) takes in on the very turn its server is closed on is never closed again."""
    if listener.fileno() >= 0:  # else its server has ended by itself
        with contextlib.suppress(NotImplementedError):  # Windows' own loop, which knows no readers
            asyncio.get_running_loop().remove_reader(listener)
    await asyncio.sleep(0)  # who was taken in before has a connection now
