"""How one practice fares, as `/api/health` shows it."""

from __future__ import annotations

from pydantic import BaseModel

from server.engine import Engine
from server.mailbox import Mailbox
from server.wire import SensorView, SourceView
from server.wire_lesson import Holder


class ClientHealth(BaseModel):
    """How one client keeps up."""

    sent: int
    missed_frames: int
    dropped_events: int
    waiting_events: int
    unacknowledged_frames: int


class BayHealth(BaseModel):
    """One practice at this moment."""

    id: str
    name: str
    source: SourceView
    ended: bool
    control: Holder
    recording: str | None
    events: int
    packets: int
    frames: int
    moved_stamps: int
    sensors: list[SensorView]
    clients: list[ClientHealth]
    clients_joined: int
    clients_given_up: int


def engine_health(engine: Engine, *, bay_id: str, name: str, control: Holder) -> BayHealth:
    """Show an engine of this process."""
    hub = engine.hub
    present = hub.present
    return BayHealth(
        id=bay_id,
        name=name,
        source=present.source,
        ended=present.ended,
        control=control,
        recording=present.recording,
        events=engine.n_events,
        packets=engine.n_packets,
        frames=engine.n_frames,
        moved_stamps=engine.n_bad_stamps,
        sensors=present.sensors,
        clients=[_client(mailbox) for mailbox in hub.mailboxes],
        clients_joined=hub.n_joined,
        clients_given_up=hub.n_overflowed,
    )


def _client(mailbox: Mailbox) -> ClientHealth:
    return ClientHealth(
        sent=mailbox.n_taken,
        missed_frames=mailbox.n_missed,
        dropped_events=mailbox.n_dropped,
        waiting_events=mailbox.n_waiting,
        unacknowledged_frames=mailbox.n_unacknowledged,
    )
