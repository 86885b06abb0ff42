"""Long lists a page at a time: `{"items": [...], "next": cursor}`. A cursor says where a page ended, and nothing else."""

from __future__ import annotations

import base64
import binascii
from collections.abc import Sequence
from typing import Annotated, Any, Final

import orjson
from fastapi import Query
from pydantic import Field

from server.api.errors import ApiProblem, ProblemCode
from server.wire_base import Message

MOST: Final = 500
DEFAULT: Final = 100
_LONGEST: Final = 2000

Limit = Annotated[int, Query(ge=1, le=MOST, description="how many at most")]
After = Annotated[
    str | None, Query(max_length=_LONGEST, description="where to go on: the `next` of the page before, as it was given")
]


class Page(Message):
    """A part of a list."""

    next: str | None = Field(description="for `after`, to get what follows; null at the end")


def cursor(*place: str | float | None) -> str:
    """Write down where a page ended."""
    return base64.urlsafe_b64encode(orjson.dumps(place)).rstrip(b"=").decode()


def place_of(after: str | None, kinds: Sequence[tuple[type, ...]]) -> list[Any] | None:
    """Read a cursor, whose parts are of these kinds; None for the beginning. Raises `ApiProblem`."""
    if after is None:
        return None
    try:
        found = orjson.loads(base64.b64decode(after + "=" * (-len(after) % 4), altchars=b"-_", validate=True))
    except (binascii.Error, orjson.JSONDecodeError, ValueError):
        found = None
    if (
        not isinstance(found, list)
        or len(found) != len(kinds)
        or any(type(part) not in kind for part, kind in zip(found, kinds, strict=False))
        or any(isinstance(part, int) and abs(part) > 2**31 for part in found)
    ):
        raise ApiProblem(
            422, ProblemCode.BAD_CURSOR, "`after` is no end of a page of this list. Begin again without it."
        )
    return found
