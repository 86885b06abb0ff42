"""Hands a source over to the service. The service is loaded only then: help and tables should come at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from sensors.events import PlayerSet
from sensors.ids import Move
from sensors.sources.base import Source
from server.choosing.choice import Choice
from server.cli.failures import CommandFailed
from server.cli.ports import check_port
from server.drills import DrillText
from server.joining.wishes import JoinWishes
from server.trims import TrimStore
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
    trims: TrimStore | None = None,
    drill: DrillText | None = None,
    choice: Choice | None = None,
    tell: Callable[[str], None] = lambda _: None,
    asked: Callable[[Move], None] | None = None,
    notes: Mapping[str, str] | None = None,
    joining: JoinWishes | None = None,
) -> None:
    """Serve the page until it is stopped; see `server.run.serve`. Raises `CommandFailed` when the port was just taken."""
    from server.run import PortTaken  # noqa: PLC0415  # see the top
    from server.run import serve as run  # noqa: PLC0415  # see the top

    try:
        run(
            make_source,
            view=view,
            port=port,
            open_browser=open_browser,
            repeat=repeat,
            record_to=record_to,
            player=player,
            trims=trims,
            drill=drill,
            choice=choice,
            tell=tell,
            asked=asked,
            notes=notes,
            joining=joining,
        )
    except PortTaken:  # since it was tried, a moment ago
        check_port(port)
        raise CommandFailed(f"Port {port} was taken for a moment. Try again.") from None
