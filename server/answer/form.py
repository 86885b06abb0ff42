"""What a coach says to a practice: notes pinned to swings, one thing to change, and a drill to get there."""

from __future__ import annotations

from typing import Annotated, Final, Literal, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError, model_validator

from fusion.drills.drill import Drill
from fusion.drills.parse import MAX_TEXT, DrillInvalid, drill_from
from server.first_fault import first_fault
from server.plain_text import one_plain_line

VERSION: Final = 1
MAX_PRIORITY: Final = 200
MAX_NOTE: Final = 500
MAX_NOTES: Final = 200
MAX_AUTHOR: Final = 80


_STRICT: Final = ConfigDict(strict=True, frozen=True, extra="forbid", allow_inf_nan=False)


class AnswerInvalid(Exception):
    """It is no answer of ours, or one that cannot be used; the message is a clause."""


class PinnedNote(BaseModel):
    """A remark about one swing, at an instant of it if it says so."""

    model_config = _STRICT

    rep: int = Field(ge=1, le=100_000)
    after_takeaway_s: float | None = Field(default=None, ge=-5.0, le=30.0)
    text: Annotated[str, AfterValidator(one_plain_line), Field(min_length=1, max_length=MAX_NOTE)]


class Said(BaseModel):
    """What a coach has to say."""

    model_config = _STRICT

    author: Annotated[str, AfterValidator(one_plain_line), Field(min_length=1, max_length=MAX_AUTHOR)]
    priority: Annotated[str, AfterValidator(one_plain_line), Field(min_length=1, max_length=MAX_PRIORITY)]
    """The one thing to change."""
    drill_text: str | None = Field(default=None, max_length=MAX_TEXT)
    """The drill that is prescribed, as a drill's file; empty for none."""
    notes: list[PinnedNote] = Field(default_factory=list, max_length=MAX_NOTES)

    @model_validator(mode="after")
    def _drill_is_one(self) -> Self:
        if self.drill_text:
            try:
                drill_from(self.drill_text)
            except DrillInvalid as error:
                raise ValueError(f"its drill cannot be used: {error}") from error
        return self


class Answer(Said):
    """As it stands in `answer.json`. Whoever reads one knows `version`; a later one is refused."""

    version: Literal[1] = VERSION
    written_unix_s: float = Field(ge=0.0, le=1e11)
    player: Annotated[str, AfterValidator(one_plain_line), Field(max_length=200)] = ""
    drill_text: str = Field(default="", max_length=MAX_TEXT)

    @property
    def drill(self) -> Drill | None:
        """What is prescribed."""
        return drill_from(self.drill_text) if self.drill_text else None


def answer_from(data: bytes) -> Answer:
    """Read `answer.json`. Raises `AnswerInvalid`."""
    try:
        return Answer.model_validate_json(data)
    except ValidationError as error:
        where, what = first_fault(error)
        if where == "version":
            raise AnswerInvalid("it was written by a newer version of Pitchbend") from error
        raise AnswerInvalid(f"{where}: {what}" if where else what) from error
