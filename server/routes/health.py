"""`/api/health`: counters, for whoever wonders why something is slow or missing."""

from __future__ import annotations

import time

from fastapi import APIRouter, Request, Response
from pydantic import BaseModel

from sensors.record.writer import program_version
from server.bays.health import BayHealth
from server.bus.health import BusHealth
from server.service import service_of
from server.wire import PROTOCOL_VERSION

router = APIRouter()


class Health(BaseModel):
    """The service at this moment."""

    version: str
    protocol: int
    uptime_s: float
    bays: list[BayHealth]
    """Every practice of it, in order."""
    bus: BusHealth | None
    """Null without `--bus`."""
    bad_messages: int
    refused_origins: int


@router.get("/api/health")
async def health(request: Request, response: Response) -> Health:
    """Say how the service fares."""
    response.headers["Cache-Control"] = "no-store"
    service = service_of(request)
    return Health(
        version=program_version(),
        protocol=PROTOCOL_VERSION,
        uptime_s=round(time.monotonic() - service.started_s, 1),
        bays=[bay.health() for bay in service.bays],
        bus=service.on_bus.health() if service.on_bus is not None else None,
        bad_messages=service.n_bad_messages,
        refused_origins=service.n_refused_origins,
    )
