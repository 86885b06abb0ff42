"""What a service with `--tls` keeps while it runs: its authority, and a certificate that follows the computer's addresses."""

from __future__ import annotations

import asyncio
import logging
import ssl
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from server.joining.addresses import lan_addresses
from server.joining.hosts import machine_names
from server.tls.authority import Authority, authority_path, the_authority
from server.tls.certificate import RENEW_AFTER, issue, vouched_for

_log = logging.getLogger(__name__)

LOOK_EVERY_S: Final = 20.0
"""A computer that is carried into another network is reached there soon after."""


def _addresses() -> tuple[str, ...]:
    return tuple(one.address for one in lan_addresses())


def _now() -> datetime:
    return datetime.now(UTC)


class Encryption:
    """`context` is for the web server; `await keep()` in a task renews what it shows. The arguments are for tests."""

    def __init__(
        self,
        authority: Authority,
        *,
        made_now: bool = False,
        find_names: Callable[[], tuple[str, ...]] = machine_names,
        find_addresses: Callable[[], tuple[str, ...]] = _addresses,
        now: Callable[[], datetime] = _now,
    ) -> None:
        self.authority = authority
        self.made_now = made_now
        self.context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        self.context.minimum_version = ssl.TLSVersion.TLSv1_2
        self.n_issued = 0
        self._find_names = find_names
        self._find_addresses = find_addresses
        self._now = now
        self._subjects: tuple[str, ...] = ()
        self._renew_at = now()
        self.look()

    def look(self) -> bool:
        """Renew the certificate if the names or addresses are others, or it is half over; True if it was renewed."""
        subjects = vouched_for(self.authority, self._find_names(), self._find_addresses())
        now = self._now()
        if subjects == self._subjects and now < self._renew_at:
            return False
        issue(self.authority, subjects, now=now).load_into(self.context)
        self._subjects, self._renew_at = subjects, now + RENEW_AFTER
        self.n_issued += 1
        return True

    async def keep(self) -> None:
        """Look again and again until cancelled."""
        while True:
            await asyncio.sleep(LOOK_EVERY_S)
            try:
                if self.look():
                    _log.info("a new certificate for %s", ", ".join(self._subjects))
            except OSError:  # a full disk, say: the old one lasts for days yet
                _log.warning("the certificate could not be renewed", exc_info=True)


def open_encryption(path: Path | None = None) -> Encryption:
    """Begin with the authority of this computer. Raises `TrustTrouble`."""
    names = machine_names()
    authority, made_now = the_authority(path or authority_path(), machine=names[0] if names else "")
    return Encryption(authority, made_now=made_now)
