"""Who is on the other side of a connection, and what that one may do.

On this computer alone a page is what it says it is. From elsewhere a guest is what the link said that let it in: the door
has written that into the connection before any route sees it.
"""

from __future__ import annotations

from collections.abc import Callable, MutableMapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

from starlette.requests import HTTPConnection

_KEY: Final = "pitchbend.guest"


class GuestRole(StrEnum):
    """What a guest comes as."""

    STUDENT = "student"
    COACH = "coach"
    VIEWER = "viewer"


@dataclass(frozen=True, slots=True, kw_only=True)
class Guest:
    """One who looks on or practises."""

    role: GuestRole = GuestRole.STUDENT
    name: str = ""
    """What to call the device in a list; empty for a page on this computer."""
    id: str = ""
    """By which the service tells guests apart; empty for a page on this computer."""
    bay: str | None = None
    """The bay this guest belongs to; None for no particular one."""

    @property
    def only_watches(self) -> bool:
        """Whether nothing that this guest asks for may change the practice."""
        return self.role is GuestRole.VIEWER


PlayerOf = Callable[[Guest], str]
"""Tells the player of the practice that a guest has joined; empty where nobody gave a name."""


def admit(scope: MutableMapping[str, Any], guest: Guest) -> None:
    """Write down who this is. From then on the connection's own word counts for nothing."""
    scope[_KEY] = guest


def guest_of(connection: HTTPConnection) -> Guest:
    """Tell who this is; without a door, what it asks to be (`as=coach`), a student if it asks nothing that is known."""
    admitted: Guest | None = connection.scope.get(_KEY)
    return admitted if admitted is not None else claimed(connection)


def claimed(connection: HTTPConnection) -> Guest:
    """Give what the connection says of itself, for one that may say so."""
    asked = connection.query_params.get("as", "")
    return Guest(role=GuestRole(asked) if asked in set(GuestRole) else GuestRole.STUDENT)
