"""What was said on the command line about joining, checked before anything else starts."""

from __future__ import annotations

from server.cli.failures import CommandFailed
from server.cli.ports import check_port
from server.joining.wishes import JoinWishes


def joining_wishes(port: int, *, lan: bool, tls: bool) -> JoinWishes:
    """Try the ports that it takes. Raises `CommandFailed`."""
    if tls and not lan:
        raise CommandFailed("--tls encrypts what --lan opens to others, so give both: --lan --tls")
    check_port(port, lan=lan)
    if tls:
        from server.web import tls_port  # noqa: PLC0415  # the service is loaded only when it is needed

        check_port(tls_port(port), lan=True, beside=port)
    return JoinWishes(lan=lan, tls=tls)
