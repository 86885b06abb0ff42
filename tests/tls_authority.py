"""For tests of encryption: an authority in a folder of the test's own, and what it would vouch for."""

from __future__ import annotations

import ssl
from pathlib import Path

from server.tls.authority import Authority, the_authority
from server.tls.encryption import Encryption

MACHINE = "range-hut"


def authority_in(folder: Path, **options) -> Authority:
    return the_authority(folder / "trust" / "authority.pem", machine=MACHINE, **options)[0]


def encryption_in(folder: Path, *, addresses=("127.0.0.2",), **options) -> Encryption:
    """Of a computer that has these addresses."""
    return Encryption(
        authority_in(folder),
        find_names=lambda: (MACHINE, f"{MACHINE}.local"),
        find_addresses=lambda: addresses,
        **options,
    )


def trusting(authority: Authority | None) -> ssl.SSLContext:
    """A client that trusts this authority and none besides."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    if authority is not None:
        context.load_verify_locations(cadata=authority.pem.decode())
    return context
