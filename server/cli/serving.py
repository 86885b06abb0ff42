"""Hands a source over to the service. The service is loaded only then: help and tables should come at once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from sensors.events import PlayerSet
from sensors.sources.base import Source
from server.wire import SourceView


def serve(
    make_source: Callable[[], Source],
    *,
    view: SourceView,
    port: int,
    open_browser: bool,
    repeat: bool,
    record_to: Path | None,
    player: PlayerSet | None,
) -> None:
    """Serve the page until it is stopped; see `server.run.serve`."""
    from server.run import serve as run  # noqa: PLC0415  # see the top

    run(
        make_source,
        view=view,
        port=port,
        open_browser=open_browser,
        repeat=repeat,
        record_to=record_to,
        player=player,
    )
