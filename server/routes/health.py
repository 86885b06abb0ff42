"""`/api/health`: counters, for whoever wonders why something is slow or missing."""

from __future__ import annotations

import time

from fastapi import APIRouter, Request, Response
from pydantic import BaseModel

from sensors.record.writer import program_version
from server.bays.health import BayHealth
from server.bus.health import BusHealth
from server.joining.guest import guest_of
from server.joining.oversees import oversees
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
    """Null without `--bus`, and for guests."""
    bad_messages: int
    refused_origins: int


@router.get("/api/health")
async def health(request: Request, response: Response) -> Health:
    """Say how the service fares; to who practises, of their own practice alone, and to no guest but a coach where files lie."""
    response.headers["Cache-Control"] = "no-store"
    service, guest = service_of(request), guest_of(request)
    everything = oversees(request)
    seen = [bay.health() for bay in service.bays if everything or guest.bay in (None, bay.id)]
    return Health(
        version=program_version(),
        protocol=PROTOCOL_VERSION,
        uptime_s=round(time.monotonic() - service.started_s, 1),
        bays=[one if everything else one.model_copy(update={"recording": None}) for one in seen],
        bus=service.on_bus.health() if service.on_bus is not None and everything else None,
        bad_messages=service.n_bad_messages,
        refused_origins=service.n_refused_origins,
    )
