"""Who may come in and who has: links by role, and the guests whom they let in. In memory only; gone when the service stops.

Rule 1: a link lets in, a guest's own secret keeps in. So one guest can be sent away and the others stay.
Rule 2: whoever is sent away cannot come back by the same link: it is renewed, and those it let in before stay.
"""

from __future__ import annotations

import asyncio
import itertools
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

from server.joining.guest import Guest, GuestRole
from server.joining.tokens import new_token, recognise

STAY_S: Final = 12 * 3600.0
"""A guest comes again by the link after that."""
MAX_GUESTS: Final = 100


class Full(Exception):
    """As many guests are connected as there can be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A bay as links know it."""

    id: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """Lets in whoever opens it."""

    role: GuestRole
    place: Place | None
    token: str = field(repr=False)


@dataclass(eq=False, slots=True, kw_only=True)
class Visit:
    """One guest who came in by a link."""

    guest: Guest
    link: Link
    address: str
    since_s: float
    token: str = field(repr=False)
    ended: asyncio.Event = field(default_factory=asyncio.Event)
    n_open: int = 0
    """Sockets of this guest that are open."""

    @property
    def id(self) -> str:
        """The guest's."""
        return self.guest.id


class GuestBook:
    """The links of a service and its guests. `on_renewed` is told of new links. Without `students` there are none for them."""

    def __init__(
        self,
        places: Sequence[Place] = (),
        *,
        now_s: Callable[[], float] = time.monotonic,
        on_renewed: Callable[[Sequence[Link]], None] = lambda _: None,
        students: bool = True,
    ) -> None:
        self._now_s = now_s
        self._on_renewed = on_renewed
        self._ids = itertools.count(1)
        self._visits: list[Visit] = []
        at: tuple[Place | None, ...] = tuple(places) if len(places) > 1 else (None,)
        self._links = [
            *(Link(role=GuestRole.STUDENT, place=place, token=new_token()) for place in (at if students else ())),
            Link(role=GuestRole.COACH, place=None, token=new_token()),
            Link(role=GuestRole.VIEWER, place=None, token=new_token()),
        ]

    @property
    def links(self) -> tuple[Link, ...]:
        """Those that let in now: students', by bay where there are several, the coach's, the viewers'."""
        return tuple(self._links)

    def link(self, said: str) -> Link | None:
        """Find the link that has this secret."""
        return recognise(said, self._links)

    def visits(self) -> tuple[Visit, ...]:
        """Who has joined, first come first."""
        for late in [visit for visit in self._visits if self._now_s() - visit.since_s > STAY_S]:
            self._end(late)
        return tuple(self._visits)

    def age_s(self, visit: Visit) -> float:
        """How long ago a guest joined."""
        return self._now_s() - visit.since_s

    def visit(self, said: str) -> Visit | None:
        """Find the guest who has this secret."""
        return recognise(said, self.visits())

    def join(self, link: Link, *, name: str, address: str) -> Visit:
        """Let one in. Raises `Full`."""
        if len(self.visits()) >= MAX_GUESTS:
            absent = next((visit for visit in self._visits if visit.n_open == 0), None)
            if absent is None:
                raise Full
            self._end(absent)
        visit = Visit(
            guest=Guest(id=f"g{next(self._ids)}", role=link.role, name=name, bay=link.place.id if link.place else None),
            link=link,
            address=address,
            since_s=self._now_s(),
            token=new_token(),
        )
        self._visits.append(visit)
        return visit

    def send_away(self, visit_id: str) -> bool:
        """End one guest's visit and renew the link by which it came; False when there is none of that name."""
        visit = next((visit for visit in self._visits if visit.id == visit_id), None)
        if visit is None:
            return False
        self._end(visit)
        if visit.link in self._links:
            self._renew([visit.link])
        return True

    def renew(self, role: GuestRole) -> None:
        """Make all links of a role anew and send away everybody who came by the old ones."""
        for visit in [visit for visit in self._visits if visit.guest.role is role]:
            self._end(visit)
        self._renew([link for link in self._links if link.role is role])

    def leave(self, visit: Visit) -> None:
        """A guest comes by another link instead."""
        if visit in self._visits:
            self._end(visit)

    def _end(self, visit: Visit) -> None:
        self._visits.remove(visit)
        visit.ended.set()

    def _renew(self, old: Sequence[Link]) -> None:
        fresh = [Link(role=link.role, place=link.place, token=new_token()) for link in old]
        for before, after in zip(old, fresh, strict=True):
            self._links[self._links.index(before)] = after
        self._on_renewed(fresh)

    def __iter__(self) -> Iterator[Visit]:
        return iter(self.visits())
