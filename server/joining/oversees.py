"""Who may see and change what is not only their own: the computer itself, and coaches."""

from __future__ import annotations

from starlette.requests import HTTPConnection

from server.joining.guest import GuestRole, guest_of
from server.joining.hosts import is_host


def oversees(connection: HTTPConnection) -> bool:
    """Whether the other side is one of them."""
    return is_host(connection.scope) or guest_of(connection).role is GuestRole.COACH
