"""The seam between a radio, a recording and everything downstream."""

from __future__ import annotations

from collections.abc import AsyncIterator, Mapping
from dataclasses import dataclass
from types import TracebackType
from typing import Protocol, Self, runtime_checkable

from sensors.events import LinkReason, SourceEvent
from sensors.ids import Role, SensorId


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


@dataclass(frozen=True, slots=True, kw_only=True)
class WornElsewhere:
    """A sensor that another bay of this service wears."""

    sensor: SensorId
    name: str
    """What it calls itself; empty before it has said so."""
    bay: str
    """Whose it is, in words for a person."""


class Controls(Protocol):
    """What a source lets a person change while it streams: a radio does, a recording does not."""

    @property
    def trouble(self) -> LinkReason:
        """Why it cannot look for sensors, if it should and cannot."""

    @property
    def waits_for(self) -> str | None:
        """The bay that gathers first, while this one should; None when it need not wait."""

    @property
    def worn_elsewhere(self) -> tuple[WornElsewhere, ...]:
        """Sensors of this radio that cannot be had: other bays wear them."""

    def place(self, roles: Mapping[SensorId, Role]) -> None:
        """Give sensors their places, at once and all together, so that two can be exchanged.

        Who had a place that another gets, has none. A sensor that was not followed before is looked for from now on.
        Raises `RadioError` for one that another bay wears, and changes nothing then.
        """

    def gather(self, *, on: bool) -> None:
        """Begin to stream from every sensor in reach, as SPARE, or leave those that were given no place.

        While another bay does so, this one waits for it; switched on again meanwhile, it goes first.
        """

    async def blink(self, sensor: SensorId) -> None:
        """Have a sensor show itself. Raises `RadioError` when it cannot be asked to."""


@runtime_checkable
class Controlled(Protocol):
    """A source that has controls, or has another source within that may have."""

    @property
    def controls(self) -> Controls | None:
        """What a person can change; None for nothing."""


def controls_of(source: Source) -> Controls | None:
    """Give what can be changed about a source while it streams; None when it is what it is."""
    return source.controls if isinstance(source, Controlled) else None
