"""The real service with `--lan --tls`, in the test's own process: 127.0.0.1 is its own computer, 127.0.0.2 a guest's way."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

from server.app import make_app
from server.bays.bay import Bays
from server.bays.local_bay import LocalBay
from server.engine import Engine
from server.joining.addresses import LanAddress
from server.joining.book import GuestBook
from server.joining.guest import GuestRole
from server.joining.opened import Joining
from server.tls.encryption import Encryption
from server.web import ANYWHERE, Ports, listen, server_of
from tests.live_service import LIVE, HandSource, ToldPipeline, never
from tests.serving import serving
from tests.tls_authority import encryption_in

HOME = (LanAddress(address="127.0.0.2", adapter="Wi-Fi"),)


@dataclass
class Encrypted:
    """Where it is."""

    plain: int
    port: int
    encryption: Encryption
    joining: Joining

    def link(self, role: GuestRole) -> str:
        (link,) = (link for link in self.joining.book.links if link.role is role)
        return self.joining.url(link, "127.0.0.2")


@asynccontextmanager
async def encrypted_service(folder: Path, **options) -> AsyncIterator[Encrypted]:
    source, encryption = HandSource(), encryption_in(folder, **options)
    engine = Engine(lambda: source, view=LIVE, make_pipeline=lambda: ToldPipeline({}), sleep=never)
    listener = listen(0, ANYWHERE)
    taken = Ports(plain=listener, encrypted=listen(0, ANYWHERE), encryption=encryption)
    joining = Joining(
        book=GuestBook(), port=taken.encrypted_number, scheme="https", plain_port=taken.number,
        fingerprint=encryption.authority.fingerprint, find_addresses=lambda: HOME,
    )  # fmt: skip
    app = make_app(
        Bays([LocalBay(engine, id="one", name="One")]), on_bug=lambda _: None, lan=joining, encryption=encryption
    )
    async with serving(server_of(app, taken), listener=listener):
        yield Encrypted(taken.number, taken.encrypted_number, encryption, joining)
