"""The marks file: who swung, and when which fit move was made, on the arrival clock."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from sensors.ids import Move, Side
from server.first_fault import first_fault
from server.importing.faults import Fault, ImportFault

_STRICT = ConfigDict(strict=True, frozen=True, allow_inf_nan=False, extra="allow")


class MarkedMove(BaseModel):
    """One move, seconds on the arrival clock."""

    model_config = _STRICT

    name: Move
    start_s: float
    end_s: float

    @model_validator(mode="after")
    def _ends_after_start(self) -> Self:
        if self.end_s <= self.start_s:
            raise ValueError(f"end_s {self.end_s} is not after start_s {self.start_s}")
        return self


class Marks(BaseModel):
    """The whole file. Fields that are not known are left out, and `unknown_fields` names them."""

    model_config = _STRICT

    lead_side: Side
    club_length_m: Annotated[float | None, Field(ge=0.4, le=1.5)] = None
    """Butt to head along the shaft. The limits are a guess that leaves room: a putter of 0.8 m to a long driver of 1.22 m."""
    arm_length_m: Annotated[float | None, Field(ge=0.3, le=1.1)] = None
    """Lead shoulder to the middle of the hands."""
    moves: tuple[MarkedMove, ...] = ()

    @property
    def unknown_fields(self) -> list[str]:
        """Names that this program does not know."""
        extra = [*(self.model_extra or {})]
        return extra + [f"moves.{name}" for move in self.moves for name in move.model_extra or {}]


def read_marks(path: Path) -> Marks:
    """Read and check the file; raises `ImportFault`."""
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise ImportFault(path, Fault.UNREADABLE, found=error.strerror or str(error)) from error
    except UnicodeDecodeError as error:
        raise ImportFault(path, Fault.NOT_UTF8) from error
    if not text.strip():
        raise ImportFault(path, Fault.EMPTY)
    try:
        return Marks.model_validate_json(text)
    except ValidationError as error:
        where, what = first_fault(error)
        raise ImportFault(path, Fault.MARKS, column=where, found=what) from error
