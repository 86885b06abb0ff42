"""Puts the service together: its practices run for as long as the application does."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import AsyncIterator, Awaitable, Callable, Sequence
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final

from fastapi import FastAPI

from server.api.archive import Archive
from server.api.mount import mount_api
from server.bays.bay import Bays
from server.guards import SecurityHeaders
from server.joining.door import Door
from server.joining.hosts import OwnNames, machine_names
from server.joining.opened import Joining, attach_joining
from server.routes import board, health, joining, live
from server.routes.page import Page, built_page
from server.service import Service, attach

if TYPE_CHECKING:
    from server.bays.on_bus import OnBus
    from server.tls.encryption import Encryption

_log = logging.getLogger(__name__)

Job = Callable[[], Awaitable[None]]
_AGAIN_S: Final = 1.0


def make_app(
    bays: Bays,
    *,
    on_bug: Callable[[Exception], None],
    page: Path | None = None,
    lan: Joining | None = None,
    archive: Archive | None = None,
    encryption: Encryption | None = None,
    on_bus: OnBus | None = None,
) -> FastAPI:
    """Make the application. `on_bug` is told, once, of the exception that ended a practice; it should stop the service.

    By then every practice has ended and its recording is whole. `page` is the folder of the built page, by default the one
    in this package. With `lan` others may join, by its book; with `encryption`, too, they do so over TLS. With an `archive`
    there is the API over it. What runs beside the practices, encryption and being `on_bus`, may fail without harm to them.
    """
    jobs = [*([encryption.keep] if encryption is not None else ()), *([on_bus.run] if on_bus is not None else ())]
    app = FastAPI(
        title="Pitchbend", docs_url=None, redoc_url=None, openapi_url=None, lifespan=_running(bays, on_bug, jobs)
    )
    attach(app, Service(bays=bays, archive=archive, on_bus=on_bus))
    app.include_router(live.router)
    app.include_router(board.router)
    app.include_router(health.router)
    app.include_router(joining.router)
    if archive is not None:
        mount_api(app, archive, bays.player_of)
    app.mount("/", Page(page or built_page()))
    if lan is not None:
        attach_joining(app, lan)
        app.add_middleware(Door, book=lan.book, secure=lan.secure)
        if encryption is not None:
            from server.tls.pages import TrustPages  # noqa: PLC0415  # its library is loaded only with --tls

            app.add_middleware(TrustPages, authority=encryption.authority, tls_port=lambda: lan.port)
    app.add_middleware(OwnNames, names=machine_names() if lan is not None else ())
    app.add_middleware(SecurityHeaders)
    return app


def _running(
    bays: Bays, on_bug: Callable[[Exception], None], beside: Sequence[Job]
) -> Callable[[FastAPI], AbstractAsyncContextManager[None]]:
    async def practise() -> None:
        try:
            async with asyncio.TaskGroup() as practices:  # ends the others, recordings and all, before it raises
                for bay in bays:
                    practices.create_task(bay.run(), name=f"practice {bay.id}")
        except ExceptionGroup as bugs:  # passed on whole; raised here, it would strike the lifespan and not the service
            _log.critical("a bug ended a practice: the service stops")
            bug: Exception = bugs
            while (
                isinstance(bug, ExceptionGroup)
                and len(bug.exceptions) == 1
                and isinstance(bug.exceptions[0], ExceptionGroup)
            ):
                bug = bug.exceptions[0]  # a group of the tasks of one practice says no more than its own
            on_bug(bug)

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        async with asyncio.TaskGroup() as tasks:
            practices = tasks.create_task(practise(), name="practices")
            others = [tasks.create_task(_for_ever(job), name="beside the practices") for job in beside]
            yield
            practices.cancel()
            for other in others:
                other.cancel()

    return lifespan


async def _for_ever(job: Job) -> None:
    """Run it until cancelled, again if it fails: a bug beside a practice is seen in the log and ends no practice."""
    while True:
        try:
            await job()
        except Exception:  # noqa: BLE001  # whatever it is
            _log.exception("what runs beside the practices failed and is begun again")
        await asyncio.sleep(_AGAIN_S)
