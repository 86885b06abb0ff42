"""Hands practices over to the service. The service is loaded only then: help and tables should come at once."""

from __future__ import annotations

from collections.abc import Sequence

from server.api.wish import StoreWish
from server.bays.spec import BaySpec
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
) -> None:
    """Serve the page until it is stopped; see `server.run.serve`. Raises `CommandFailed` when the port was just taken."""
    from server.run import serve as run  # noqa: PLC0415  # see the top
    from server.web import PortTaken  # noqa: PLC0415  # see the top

    try:
        run(specs, port=port, open_browser=open_browser, joining=joining, store=store, view=view)
    except PortTaken:  # since it was tried, a moment ago
        check_port(port)
        raise CommandFailed(f"Port {port} was taken for a moment. Try again.") from None
    except TrustTrouble as trouble:
        raise CommandFailed(trust_sentence(trouble)) from None
