"""How one practice fares, as `/api/health` shows it."""

from __future__ import annotations

from pydantic import BaseModel

from server.engine import Engine
from server.hub import Hub
from server.mailbox import Mailbox
from server.wire import SensorView, SourceView
from server.wire_board import BoardBay
from server.wire_lesson import Holder


class ClientHealth(BaseModel):
    """How one client keeps up."""

    sent: int
    missed_frames: int
    dropped_events: int
    waiting_events: int
    unacknowledged_frames: int


class RemoteHealth(BaseModel):
    """How the way to a practice on another computer is."""

    host: str
    away: bool
    silent_s: float
    refused: int
    """Messages that were malformed."""
    holes: int
    """Times that something was lost on the way, and all was told anew."""


class BayHealth(BaseModel):
    """One practice at this moment."""

    id: str
    name: str
    source: SourceView | None
    """Null, as others below, where it is not known here: of a practice on another computer."""
    ended: bool
    control: Holder
    recording: str | None
    events: int | None
    packets: int | None
    frames: int | None
    moved_stamps: int | None
    sensors: list[SensorView]
    clients: list[ClientHealth]
    clients_joined: int
    clients_given_up: int
    elsewhere: RemoteHealth | None = None
    """Of a practice on another computer."""


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


def remote_health(hub: Hub | None, board: BoardBay, *, bay_id: str, name: str, fares: RemoteHealth) -> BayHealth:
    """Show a practice of another computer; `hub` tells those who follow it here."""
    present = hub.present if hub is not None else None
    return BayHealth(
        id=bay_id,
        name=name,
        source=present.source if present is not None else None,
        ended=board.status == "ended",
        control=board.control,
        recording=present.recording if present is not None else None,
        events=None,
        packets=None,
        frames=None,
        moved_stamps=None,
        sensors=present.sensors if present is not None else [],
        clients=[_client(mailbox) for mailbox in hub.mailboxes] if hub is not None else [],
        clients_joined=hub.n_joined if hub is not None else 0,
        clients_given_up=hub.n_overflowed if hub is not None else 0,
        elsewhere=fares,
    )


def _client(mailbox: Mailbox) -> ClientHealth:
    return ClientHealth(
        sent=mailbox.n_taken,
        missed_frames=mailbox.n_missed,
        dropped_events=mailbox.n_dropped,
        waiting_events=mailbox.n_waiting,
        unacknowledged_frames=mailbox.n_unacknowledged,
    )
