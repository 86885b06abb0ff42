"""`/api/drills`: what can be practised, and prescribed."""

from __future__ import annotations

from fastapi import APIRouter, Depends
from pydantic import Field

from fusion.drills.drill import Drill
from fusion.drills.parse import MAX_TEXT, DrillInvalid, drill_from
from fusion.drills.quantity import Quantity, Unit
from fusion.drills.write import text_of
from sensors.record.paths import plain_name
from server.api.asked import may_write
from server.api.errors import ApiProblem, ProblemCode
from server.api.paging import Page
from server.drills import DrillNotKept, catalogue, keep_drill
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


class DrillText(Message):
    """A drill to keep."""

    text: str = Field(min_length=1, max_length=MAX_TEXT, description="TOML, in the form of shared/drills")


@router.post("/drills", status_code=201, dependencies=[Depends(may_write)])
def keep(asked: DrillText) -> DrillView:
    """Keep a drill among one's own, by its name, so that every practice can choose it."""
    drill = _drill_of(asked.text)
    drill_id = plain_name(drill.name)
    try:
        keep_drill(drill_id, asked.text)
    except DrillNotKept as error:
        raise ApiProblem(507, ProblemCode.DISK, str(error)) from error
    return DrillView(id=drill_id, name=drill.name, aim=drill.aim, text=asked.text, own=True)


class ReadDrill(Message):
    """What a drill's text says."""

    name: str
    aim: str
    feel: str
    quantity: Quantity
    unit: Unit
    low: float
    high: float
    n_reps: int = Field(description="of all its blocks")
    text: str = Field(description="the same drill, as Pitchbend writes it")


@router.post("/drills/read", dependencies=[Depends(may_write)])
def read(asked: DrillText) -> ReadDrill:
    """Say what a drill is that came as text, from a picture that was scanned: nothing is kept or chosen."""
    drill = _drill_of(asked.text)
    return ReadDrill(
        name=drill.name,
        aim=drill.aim,
        feel=drill.feel,
        quantity=drill.quantity,
        unit=drill.quantity.unit,
        low=round(drill.quantity.unit.shown(drill.low), 6),
        high=round(drill.quantity.unit.shown(drill.high), 6),
        n_reps=sum(block.n_reps for block in drill.blocks),
        text=text_of(drill),
    )


def _drill_of(text: str) -> Drill:
    """Raises `ApiProblem` where it is none."""
    try:
        return drill_from(text)
    except DrillInvalid as error:
        raise ApiProblem(422, ProblemCode.BAD_REQUEST, f"This is no drill that can be used: {error}.") from error
