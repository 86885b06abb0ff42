"""What the routes need to know of joining, when others may join."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from fastapi import FastAPI
from starlette.requests import HTTPConnection

from server.joining.addresses import LanAddress, lan_addresses
from server.joining.book import GuestBook, Link


@dataclass(frozen=True, slots=True, kw_only=True)
class Joining:
    """A service that is open to the local network."""

    book: GuestBook
    port: int
    scheme: Literal["http", "https"] = "http"
    find_addresses: Callable[[], tuple[LanAddress, ...]] = lan_addresses

    def url(self, link: Link, address: str) -> str:
        """Write a link out."""
        return f"{self.scheme}://{address}:{self.port}/join/{link.token}"

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
