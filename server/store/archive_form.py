"""What `player.json` of an export holds, so that one can be taken in elsewhere: the tables' columns, checked one by one.

The form is that of the tables (`server/store/schema.py`): a new column is part of it by itself, and where it may be null, an
export of before is taken in without it. Raise `FORM_VERSION` when a reader of before would be wrong.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any, Final, Literal, Self

from pydantic import AfterValidator, ConfigDict, Field, create_model, model_validator
from sqlalchemy import JSON, BigInteger, Boolean, Column, Double, Integer, String, Table

from fusion.outputs.rep import Verdict
from sensors.ids import Role, Side
from server.store.looking import MARK_NAMES
from server.store.records import RepKind
from server.store.schema import (
    ANSWER,
    BLOCK,
    CLUB,
    DRILL,
    MARK,
    NOTE,
    PRACTICE,
    RECORDING,
    REP,
    SENSOR,
    STINT,
)
from server.wire_base import Message

FORM_VERSION: Final = 1


def _without_nul(text: str) -> str:
    if "\0" in text:
        raise ValueError("must be text")
    return text


_Text = Annotated[str, AfterValidator(_without_nul)]
_TYPES: Final[dict[type[Any], Any]] = {
    JSON: list[_Text],
    Boolean: bool,
    Double: float,
    BigInteger: Annotated[int, Field(ge=-(2**63), lt=2**63)],
    Integer: Annotated[int, Field(ge=-(2**31), lt=2**31)],
    String: _Text,
}
"""By kind of column; the first that fits."""
_Sha = Annotated[str, Field(pattern="^[0-9a-f]{64}$")]


def _type_of(column: Column[Any]) -> Any:
    kind = column.type
    if isinstance(kind, String) and kind.length is not None:
        return Annotated[_Text, Field(max_length=kind.length)]
    return next(ours for theirs, ours in _TYPES.items() if isinstance(kind, theirs))


def _row(table: Table, base: type[Message] = Message, **narrower: Any) -> Any:
    """Make the model of a table's rows: its columns but those that number them, some of them narrower."""
    fields: dict[str, Any] = {}
    for column in table.columns:
        if column.name != "id" and not column.name.endswith("_id"):
            kind = _type_of(column)
            fields[column.name] = (kind | None, None) if column.nullable else (kind, ...)
    fields |= {name: (kind, ...) for name, kind in narrower.items()}
    return create_model(f"Exported{table.name.capitalize()}", __base__=base, **fields)


class _Whole(Message):
    """Rows that refer to one another."""

    @model_validator(mode="after")
    def _fits(self) -> Self:
        about: Any = self
        _once("stint", (stint.number for stint in about.stints))
        _once("rep", (rep.number for rep in about.reps))
        _once("note", (note.number for note in about.notes))
        _once("sensor", (sensor.address for sensor in about.sensors))
        _once("answer", ((answer.author, answer.written_unix_s) for answer in about.answers))
        blocks = {stint.number: {block.number for block in stint.blocks} for stint in about.stints}
        for stint in about.stints:
            _once("block", (block.number for block in stint.blocks))
        for rep in about.reps:
            _once("mark", (mark.name for mark in rep.marks))
            if rep.stint not in blocks or (rep.block is not None and rep.block not in blocks[rep.stint]):
                raise ValueError(f"rep {rep.number} belongs to a block that is not there")
        return self


def _once(what: str, known_by: Iterable[Any]) -> None:
    seen = list(known_by)
    if len(set(seen)) < len(seen):
        raise ValueError(f"a {what} is there twice")


_CLUB: Final = _row(CLUB)
_REP: Final = _row(
    REP,
    kind=RepKind, verdict=Verdict, stint=int, block=int | None, club=_CLUB | None,
    marks=list[_row(MARK, name=Literal[*MARK_NAMES])],  # type: ignore[misc]  # made from the tables
)  # fmt: skip
_PRACTICE: Final = _row(
    PRACTICE,
    _Whole,
    key=_Sha,
    day=Annotated[str, Field(pattern=r"^\d{4}-\d\d-\d\d$")],
    lead_side=Side,
    sensors=list[_row(SENSOR, role=Role)],  # type: ignore[misc]
    recordings=list[_row(RECORDING, sha256=_Sha)],  # type: ignore[misc]
    stints=list[_row(STINT, drill=_row(DRILL, sha256=_Sha), blocks=list[_row(BLOCK)])],  # type: ignore[misc]
    reps=list[_REP],  # type: ignore[valid-type]
    answers=list[_row(ANSWER)],  # type: ignore[misc]
    notes=list[_row(NOTE, kind=Literal["note", "mark"])],  # type: ignore[misc]
)


class _Player(Message):
    @model_validator(mode="after")
    def _fits(self) -> Self:
        about: Any = self
        _once("practice", (practice.key for practice in about.practices))
        _once("club", (club.name for club in about.clubs))
        _once("recording", (one.sha256 for practice in about.practices for one in practice.recordings))
        return self


EXPORT: Final[Any] = create_model(
    "Export",
    __base__=_Player,
    version=int,
    player=(_Text, ...),
    clubs=(list[_CLUB], ...),  # type: ignore[valid-type]
    practices=(list[_PRACTICE], ...),  # type: ignore[valid-type]
)


class Head(Message):
    """What is read first of any version."""

    model_config = ConfigDict(frozen=True, extra="ignore")
    version: int = 0
