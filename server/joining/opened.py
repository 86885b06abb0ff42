"""What the routes need to know of joining, when others may join."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from fastapi import FastAPI
from starlette.requests import HTTPConnection

from server.joining.addresses import LanAddress, lan_addresses
from server.joining.book import GuestBook, Link
from server.joining.door import TRUST


@dataclass(frozen=True, slots=True, kw_only=True)
class Joining:
    """A service that is open to the local network."""

    book: GuestBook
    port: int
    """Where guests come in."""
    scheme: Literal["http", "https"] = "http"
    find_addresses: Callable[[], tuple[LanAddress, ...]] = lan_addresses
    fingerprint: str = ""
    """Of the certificate to trust, where the service is encrypted."""
    plain_port: int = 0
    """Of a service that is encrypted: where devices that do not trust it yet are told how."""

    def url(self, link: Link, address: str) -> str:
        """Write a link out."""
        return f"{self.scheme}://{address}:{self.port}/join/{link.token}"

    def trust_url(self, address: str) -> str | None:
        """Where a device comes to trust a service that is encrypted."""
        return f"http://{address}:{self.plain_port}{TRUST}" if self.secure else None

    @property
    def secure(self) -> bool:
        """Whether the service is reached over TLS only."""
        return self.scheme == "https"


def attach_joining(app: FastAPI, joining: Joining) -> None:
    """Make it known to the routes."""
    app.state.joining = joining


def joining_of(connection: HTTPConnection) -> Joining | None:
    """Find it again; None when nobody can join."""
    found: Joining | None = getattr(connection.app.state, "joining", None)
    return found
