"""A source round another, for whoever adds something to its stream."""

from __future__ import annotations

from types import TracebackType
from typing import Self

from sensors.sources.base import Controls, Source, controls_of


class SourceWithin:
    """Opens, closes and lets control the source within; what iterates is up to the class made of it."""

    def __init__(self, source: Source) -> None:
        self._source = source

    @property
    def controls(self) -> Controls | None:
        """Those of the source within."""
        return controls_of(self._source)

    async def __aenter__(self) -> Self:
        await self._source.__aenter__()
        return self

    async def __aexit__(
        self, exc_type: type[BaseException] | None, exc: BaseException | None, tb: TracebackType | None
    ) -> None:
        await self._source.__aexit__(exc_type, exc, tb)
