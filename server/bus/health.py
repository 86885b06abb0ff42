"""How a service fares on a bus, as `/api/health` shows it."""

from __future__ import annotations

from pydantic import BaseModel


class BusHealth(BaseModel):
    """Of a practice's side, or of a board's."""

    away: str
    """Why the bus is away, in a sentence; empty while it is there."""
    connected: int
    """How often a connection was made."""
    boards: int
    """Boards that look on now; 0 at a board itself."""
    asked: int
    """What coaches at boards wanted."""
    told: int
    """Messages that followers were told."""
    too_long: int
    """Never told: the bus takes no message of that length."""
    refused: int
    """Messages from the bus that were malformed, of another version, or too many."""
