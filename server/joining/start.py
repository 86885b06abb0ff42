"""Opens the door: makes the book, and tells the terminal how to come in."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from server.joining.book import GuestBook, Link, Place
from server.joining.opened import Joining
from server.joining.words import invitation, renewed, trust_lines
from server.web import Ports

if TYPE_CHECKING:
    from server.tls.encryption import Encryption


def open_to_lan(taken: Ports, places: Sequence[Place], console: Console, *, students: bool = True) -> Joining:
    """Make new links for these bays and say them on the terminal, then and whenever some are made anew."""

    def on_renewed(links: Sequence[Link]) -> None:
        for line in renewed(links, joining.find_addresses(), joining.url):
            _say(console, line)

    book = GuestBook(places, on_renewed=on_renewed, students=students)
    if taken.encryption is None or taken.encrypted_number is None:
        joining = Joining(book=book, port=taken.number)
    else:
        joining = Joining(
            book=book,
            port=taken.encrypted_number,
            scheme="https",
            plain_port=taken.number,
            fingerprint=taken.encryption.authority.fingerprint,
        )
    return joining


def say_trust(encryption: Encryption, console: Console) -> None:
    """Say by what a device recognises this computer."""
    authority = encryption.authority
    for line in trust_lines(
        fingerprint=authority.fingerprint, ends=authority.ends, made_now=encryption.made_now, path=authority.path
    ):
        _say(console, line)


def say_links(joining: Joining, console: Console) -> None:
    """Print the links, as pictures too where somebody sees them."""
    lines = invitation(
        joining.book.links,
        joining.find_addresses(),
        joining.url,
        pictures=console.is_terminal,
        trust_url=joining.trust_url,
    )
    for line, is_picture in lines:
        if is_picture:
            console.print(Text(line, style="bright_white on black", no_wrap=True), soft_wrap=True)
        else:
            _say(console, line)


def _say(console: Console, line: str) -> None:
    console.print(line, soft_wrap=True, highlight=False, markup=False)
