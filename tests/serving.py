"""The real service in the test's own process: engine, application, web server on a free port of loopback."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import uvicorn

from server.app import make_app
from server.engine import Engine
from server.run import config_of, listen


@asynccontextmanager
async def serving(engine: Engine) -> AsyncIterator[str]:
    """Give the address, e.g. `http://127.0.0.1:40123`; a bug in the practice is raised at the end."""
    bugs: list[Exception] = []
    server = uvicorn.Server(config_of(make_app(engine, on_bug=bugs.append)))
    listener = listen(0)
    task = asyncio.create_task(server.serve(sockets=[listener]), name="service under test")
    while not server.started and not task.done():
        await asyncio.sleep(0.01)
    try:
        yield f"http://127.0.0.1:{listener.getsockname()[1]}"
    finally:
        server.should_exit = True
        await task
        listener.close()
    if bugs:
        raise bugs[0]
