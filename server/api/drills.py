"""`/api/drills`: what can be practised, and prescribed."""

from __future__ import annotations

from fastapi import APIRouter

from server.api.paging import Page
from server.drills import catalogue
from server.wire_base import Message

router = APIRouter(tags=["drills"])


class DrillView(Message):
    """One drill of the catalogue."""

    id: str
    name: str
    aim: str
    text: str
    own: bool


class DrillPage(Page):
    """Drills in teaching order, then one's own."""

    items: list[DrillView]


@router.get("/drills")
def drills() -> DrillPage:
    """List them."""
    items = [
        DrillView(id=one.id, name=one.drill.name, aim=one.drill.aim, text=one.text, own=one.own) for one in catalogue()
    ]
    return DrillPage(items=items, next=None)
