"""What the routes share: the practices, and what the door has seen."""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, cast

from fastapi import FastAPI
from starlette.requests import HTTPConnection

from server.api.archive import Archive
from server.bays.bay import Bays

if TYPE_CHECKING:
    from server.bays.on_bus import OnBus


@dataclass(slots=True, kw_only=True)
class Service:
    """One running service. The counters are shown by `/api/health`."""

    bays: Bays
    archive: Archive | None = None
    """The store, where the service has one: not opened before somebody asks."""
    on_bus: OnBus | None = None
    started_s: float = field(default_factory=time.monotonic)
    n_bad_messages: int = 0
    n_refused_origins: int = 0


def attach(app: FastAPI, service: Service) -> None:
    """Make it known to the routes."""
    app.state.service = service


def service_of(connection: HTTPConnection) -> Service:
    """Find it again from a request or a websocket."""
    return cast("Service", connection.app.state.service)
