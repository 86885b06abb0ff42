"""A web server in the test's own process, on a free port, of loopback unless told otherwise."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import uvicorn

from server.web import HOST, listen


@asynccontextmanager
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
        server.should_exit = True
        await task
        listener.close()
