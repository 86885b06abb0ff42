"""Hands practices over to the service. The service is loaded only then: help and tables should come at once."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Sequence

from server.api.wish import StoreWish
from server.bays.spec import BaySpec
from server.bus.address import BusAddress
from server.cli.failures import CommandFailed
from server.cli.ports import check_port
from server.joining.wishes import JoinWishes
from server.tls.trouble import TrustTrouble, trust_sentence


def serve(
    specs: Sequence[BaySpec],
    *,
    port: int,
    open_browser: bool,
    joining: JoinWishes | None = None,
    store: StoreWish | None = None,
    view: str = "",
    bus: BusAddress | None = None,
) -> None:
    """Serve the page until it is stopped; see `server.run.serve`. Raises `CommandFailed` when the port was just taken."""
    from server.run import serve as run  # noqa: PLC0415  # see the top

    with _failures(port):
        run(specs, port=port, open_browser=open_browser, joining=joining, store=store, view=view, bus=bus)


def serve_board(bus: BusAddress, *, port: int, open_browser: bool, joining: JoinWishes) -> None:
    """Serve a board until it is stopped; see `server.run.serve_board`. Raises `CommandFailed`, too."""
    from server.run import serve_board as run  # noqa: PLC0415  # see the top

    with _failures(port):
        run(bus, port=port, open_browser=open_browser, joining=joining)


@contextlib.contextmanager
def _failures(port: int) -> Iterator[None]:
    from server.web import PortTaken  # noqa: PLC0415  # see the top

    try:
        yield
    except PortTaken:  # since it was tried, a moment ago
        check_port(port)
        raise CommandFailed(f"Port {port} was taken for a moment. Try again.") from None
    except TrustTrouble as trouble:
        raise CommandFailed(trust_sentence(trouble)) from None
