"""`/api/guest`: who the page is. `/api/joining`: the links and who has come by them, for this computer and for coaches."""

from __future__ import annotations

from fastapi import APIRouter, HTTPException, Request, Response
from pydantic import BaseModel, ConfigDict

from server.joining.book import Link, Visit
from server.joining.guest import GuestRole, guest_of
from server.joining.hosts import is_host, same_origin
from server.joining.opened import Joining, joining_of
from server.joining.oversees import oversees
from server.joining.qr import QrView, qr_view

router = APIRouter()


class GuestView(BaseModel):
    """Who the page is."""

    role: GuestRole
    bay: str | None
    at_computer: bool
    """It is shown on the computer that runs the service."""
    may_invite: bool
    """It may see the links, and send guests away."""


class AddressView(BaseModel):
    """An address of this computer."""

    address: str
    adapter: str


class LinkView(BaseModel):
    """A link, and the picture of it to scan."""

    role: GuestRole
    place: str
    """Name of the bay; empty where there is one bay only, and for links to all."""
    url: str
    qr: QrView


class VisitView(BaseModel):
    """Somebody who has joined."""

    id: str
    role: GuestRole
    place: str
    name: str
    address: str
    joined_s_ago: float
    here: bool
    """Has a page open now."""


class TrustView(BaseModel):
    """Where a device comes to trust a service that is encrypted."""

    url: str
    qr: QrView
    fingerprint: str


class JoiningView(BaseModel):
    """Everything about joining."""

    open: bool
    """False when the service is for this computer only."""
    secure: bool = False
    addresses: list[AddressView] = []
    address: str | None = None
    """The one that the links are written with."""
    trust: TrustView | None = None
    """Null where nothing is encrypted."""
    links: list[LinkView] = []
    guests: list[VisitView] = []


class _Body(BaseModel):
    model_config = ConfigDict(extra="forbid")


class Renew(_Body):
    """Make the links of a role anew."""

    role: GuestRole


class SendAway(_Body):
    """End a guest's visit."""

    guest: str


def _joining(request: Request) -> Joining:
    """Give what may be seen and changed. Raises `HTTPException` for those who may not."""
    if not oversees(request):
        raise HTTPException(403, "Only the computer itself and coaches can see who joins.")
    joining = joining_of(request)
    if joining is None:
        raise HTTPException(409, "Nobody can join: start Pitchbend with --lan.")
    if request.method != "GET" and not same_origin(request.scope):
        raise HTTPException(403, "That was asked by a page of somebody else.")
    return joining


@router.get("/api/guest")
async def guest(request: Request, response: Response) -> GuestView:
    """Tell a page who it is."""
    response.headers["Cache-Control"] = "no-store"
    known = guest_of(request)
    return GuestView(
        role=known.role,
        bay=known.bay,
        at_computer=is_host(request.scope),
        may_invite=joining_of(request) is not None and oversees(request),
    )


@router.get("/api/joining")
async def joining(request: Request, response: Response, address: str | None = None) -> JoiningView:
    """Show the links, written with one of this computer's addresses, and the guests."""
    response.headers["Cache-Control"] = "no-store"
    if joining_of(request) is None:
        return JoiningView(open=False)
    return _view(_joining(request), address)


@router.post("/api/joining/renew", status_code=204)
async def renew(request: Request, body: Renew) -> None:
    """Make the links of a role anew; whoever came by the old ones is sent away."""
    _joining(request).book.renew(body.role)


@router.post("/api/joining/send-away", status_code=204)
async def send_away(request: Request, body: SendAway) -> None:
    """Send a guest away; the link it came by is made anew."""
    if not _joining(request).book.send_away(body.guest):
        raise HTTPException(404, "That guest is not here any more.")


def _view(opened: Joining, wanted: str | None) -> JoiningView:
    addresses = opened.find_addresses()
    known = [one.address for one in addresses]
    address = wanted if wanted in known else next(iter(known), None)
    return JoiningView(
        open=True,
        secure=opened.secure,
        addresses=[AddressView(address=one.address, adapter=one.adapter) for one in addresses],
        address=address,
        trust=_trust(opened, address) if address else None,
        links=[_link(opened, link, address) for link in opened.book.links] if address else [],
        guests=[_visit(opened, visit) for visit in opened.book.visits()],
    )


def _trust(opened: Joining, address: str) -> TrustView | None:
    url = opened.trust_url(address)
    return None if url is None else TrustView(url=url, qr=qr_view(url), fingerprint=opened.fingerprint)


def _link(opened: Joining, link: Link, address: str) -> LinkView:
    url = opened.url(link, address)
    return LinkView(role=link.role, place=link.place.name if link.place else "", url=url, qr=qr_view(url))


def _visit(opened: Joining, visit: Visit) -> VisitView:
    return VisitView(
        id=visit.id,
        role=visit.guest.role,
        place=visit.link.place.name if visit.link.place else "",
        name=visit.guest.name,
        address=visit.address,
        joined_s_ago=round(opened.book.age_s(visit), 1),
        here=visit.n_open > 0,
    )
