"""What the terminal says about joining."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from server.joining.addresses import LanAddress, is_public
from server.joining.book import Link
from server.joining.guest import GuestRole
from server.joining.qr import qr_blocks
from server.tls.limits import is_local

ROLE_TITLES: Final = {
    GuestRole.STUDENT: "To practise (student)",
    GuestRole.COACH: "To coach",
    GuestRole.VIEWER: "To watch",
}
SOON: Final = timedelta(days=30)
CAUTION: Final = (
    "Give a link only to people who should see this practice: whoever has it can open it. "
    "The page Let others join on this computer shows who has, sends one away, and makes links anew."
)
NO_NETWORK: Final = (
    "This computer is in no network, so no phone can reach it. Join it to a Wi-Fi, or to a phone's hotspot; "
    "the page Let others join then shows the links."
)

NOTHING_COVERED: Final = (
    "This computer has no address in a local network, and the certificate may vouch for no other: with --tls every device warns, "
    "however often it is told to trust. Join the computer to a home network, or to a phone's own hotspot, and start again."
)


def title(link: Link) -> str:
    """Say what a link is for."""
    return ROLE_TITLES[link.role] + (f", {link.place.name}" if link.place is not None else "")


def invitation(
    links: Sequence[Link],
    addresses: Sequence[LanAddress],
    url: Callable[[Link, str], str],
    *,
    pictures: bool,
    trust_url: Callable[[str], str | None] = lambda _: None,
) -> list[tuple[str, bool]]:
    """Give the lines to print, each with whether it is a picture, which needs white on black."""
    if not addresses:
        return [(NO_NETWORK, False)]
    first, *others = (one.address for one in addresses)
    lines = [(f"Phones and tablets in the same network reach this computer at {first}.", False)]
    if others:
        lines.append(
            (
                f"If that fails, the page Let others join has the links for its other addresses: {', '.join(others)}.",
                False,
            )
        )
    lines.extend((public_warning(one.address), False) for one in addresses if is_public(one.address))
    to_trust = trust_url(first)
    if to_trust is not None:
        lines.append((f"\nFirst, once for each device: {to_trust}", False))
        if pictures:
            lines.append((qr_blocks(to_trust), True))
        if not any(is_local(one.address) for one in addresses):
            lines.append((NOTHING_COVERED, False))
        lines.extend((not_covered(one.address), False) for one in addresses if not is_local(one.address))
    for link in reversed(links):  # the student's, which is needed most, nearest to the prompt
        where = url(link, first)
        lines.append((f"\n{title(link)}: {where}", False))
        if pictures:
            lines.append((qr_blocks(where), True))
    return [*lines, (CAUTION, False)]


def renewed(links: Sequence[Link], addresses: Sequence[LanAddress], url: Callable[[Link, str], str]) -> list[str]:
    """Say that links were made anew."""
    return [f"New link. {title(link)}: {url(link, one.address)}" for link in links for one in addresses[:1]]


def not_covered(address: str) -> str:
    """Say where encryption goes without trust."""
    return (
        f"Caution: {address} is no address of a local network, so the certificate does not cover it, and devices that come by it "
        "go on warning of this computer."
    )


def public_warning(address: str) -> str:
    """Warn where the local network is the internet."""
    return (
        f"Caution: {address} is a public address, so anybody on the internet may knock at this door. "
        "Without a link nobody gets in, but a firewall in front of it is better."
    )


def trust_lines(
    *, fingerprint: str, ends: datetime, made_now: bool, path: Path, now: datetime | None = None
) -> list[str]:
    """Say by what a device recognises this computer, and when that ends."""
    lines = [f"Others reach this computer encrypted. Its certificate, SHA-256: {fingerprint}"]
    if made_now:
        lines.insert(0, f"A key for that was made just now, once and for all. It stays in {path}: give it to nobody.")
    left = ends - (now or datetime.now(UTC))
    if left < SOON:
        lines.append(
            f"It ends in {left.days} days. Before that: pitchbend trust forget, start again, and let each device trust the new "
            "one."
        )
    return lines
