"""The seam between a radio, a recording and everything downstream."""

from __future__ import annotations

from collections.abc import AsyncIterator
from types import TracebackType
from typing import Protocol, Self

from sensors.events import SourceEvent


class Source(Protocol):
    """An asynchronous stream of events: `async with source: async for event in source`.

    Order of arrival, `arrival_ns` never decreasing. Expected trouble (a drop, a silent sensor) is a `LinkChange` in the
    stream; a bug escapes. Iteration ends only when the source has nothing more to give.
    """

    async def __aenter__(self) -> Self: ...

    async def __aexit__(
        self, exc_type: type[BaseException] | None, exc: BaseException | None, tb: TracebackType | None
    ) -> None: ...

    def __aiter__(self) -> AsyncIterator[SourceEvent]: ...
