"""Puts the service together: the practice runs for as long as the application does."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from pathlib import Path

from fastapi import FastAPI

from server.engine import Engine
from server.guards import SecurityHeaders
from server.joining.door import Door
from server.joining.hosts import OwnNames, machine_names
from server.joining.opened import Joining, attach_joining
from server.routes import health, joining, live
from server.routes.page import Page, built_page
from server.service import Service, attach

_log = logging.getLogger(__name__)


def make_app(
    engine: Engine, *, on_bug: Callable[[Exception], None], page: Path | None = None, lan: Joining | None = None
) -> FastAPI:
    """Make the application. `on_bug` is told, once, of the exception that ended the practice; it should stop the service.

    `page` is the folder of the built page, by default the one in this package. With `lan` others may join, by its book.
    """
    app = FastAPI(title="Pitchbend", docs_url=None, redoc_url=None, openapi_url=None, lifespan=_running(engine, on_bug))
    attach(app, Service(engine=engine))
    app.include_router(live.router)
    app.include_router(health.router)
    app.include_router(joining.router)
    app.mount("/", Page(page or built_page()))
    if lan is not None:
        attach_joining(app, lan)
        app.add_middleware(Door, book=lan.book, secure=lan.secure)
    app.add_middleware(OwnNames, names=machine_names() if lan is not None else ())
    app.add_middleware(SecurityHeaders)
    return app


def _running(
    engine: Engine, on_bug: Callable[[Exception], None]
) -> Callable[[FastAPI], AbstractAsyncContextManager[None]]:
    async def practise() -> None:
        try:
            await engine.run()
        except Exception as bug:  # noqa: BLE001 - passed on whole; raised here, it would strike the lifespan and not the service
            _log.critical("a bug ended the practice: the service stops")
            on_bug(bug)

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        async with asyncio.TaskGroup() as tasks:
            practice = tasks.create_task(practise(), name="practice")
            yield
            practice.cancel()

    return lifespan
