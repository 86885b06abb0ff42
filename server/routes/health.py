"""`/api/health`: counters, for whoever wonders why something is slow or missing."""

from __future__ import annotations

import time

from fastapi import APIRouter, Request, Response
from pydantic import BaseModel

from sensors.record.writer import program_version
from server.mailbox import Mailbox
from server.service import service_of
from server.wire import PROTOCOL_VERSION, SensorView, SourceView

router = APIRouter()


class ClientHealth(BaseModel):
    """How one client keeps up."""

    sent: int
    missed_frames: int
    dropped_events: int
    waiting_events: int
    unacknowledged_frames: int


class Health(BaseModel):
    """The service at this moment."""

    version: str
    protocol: int
    uptime_s: float
    source: SourceView
    ended: bool
    recording: str | None
    events: int
    packets: int
    frames: int
    moved_stamps: int
    sensors: list[SensorView]
    clients: list[ClientHealth]
    clients_joined: int
    clients_given_up: int
    bad_messages: int
    refused_origins: int


def _client(mailbox: Mailbox) -> ClientHealth:
    return ClientHealth(
        sent=mailbox.n_taken,
        missed_frames=mailbox.n_missed,
        dropped_events=mailbox.n_dropped,
        waiting_events=mailbox.n_waiting,
        unacknowledged_frames=mailbox.n_unacknowledged,
    )


@router.get("/api/health")
async def health(request: Request, response: Response) -> Health:
    """Say how the service fares."""
    response.headers["Cache-Control"] = "no-store"
    service = service_of(request)
    engine = service.engine
    hub = engine.hub
    present = hub.present
    return Health(
        version=program_version(),
        protocol=PROTOCOL_VERSION,
        uptime_s=round(time.monotonic() - service.started_s, 1),
        source=present.source,
        ended=present.ended,
        recording=present.recording,
        events=engine.n_events,
        packets=engine.n_packets,
        frames=engine.n_frames,
        moved_stamps=engine.n_bad_stamps,
        sensors=present.sensors,
        clients=[_client(mailbox) for mailbox in hub.mailboxes],
        clients_joined=hub.n_joined,
        clients_given_up=hub.n_overflowed,
        bad_messages=service.n_bad_messages,
        refused_origins=service.n_refused_origins,
    )
