"""The web server: its settings, its ports, and one beside it where the service is encrypted."""

from __future__ import annotations

import contextlib
import os
import socket
import ssl
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import uvicorn

from server.joining.wishes import JoinWishes
from server.side_by_side import Beside, First, TlsConfig

if TYPE_CHECKING:
    from server.tls.encryption import Encryption

HOST: Final = "127.0.0.1"
ANYWHERE: Final = "0.0.0.0"
"""Every network this machine is in."""
MAX_FRAME_BYTES: Final = 65_536
"""A longer websocket message ends the connection; see `server.routes.live` for what is refused before that."""
_GRACE_S: Final = 2
"""A client that does not let go is let go of."""


class PortTaken(Exception):
    """The port cannot be had: another program has it, or this user may not."""

    def __init__(self, port: int) -> None:
        self.port = port
        super().__init__(f"port {port} is taken")


@dataclass(frozen=True, slots=True, kw_only=True)
class Ports:
    """Taken, and not yet served. `encryption` goes with the second."""

    plain: socket.socket
    encrypted: socket.socket | None = None
    encryption: Encryption | None = None

    @property
    def number(self) -> int:
        """Of the plain one."""
        return int(self.plain.getsockname()[1])

    @property
    def encrypted_number(self) -> int | None:
        """Of the encrypted one, if there is one."""
        return int(self.encrypted.getsockname()[1]) if self.encrypted is not None else None


@contextlib.contextmanager
def ports(port: int, wishes: JoinWishes) -> Iterator[Ports]:
    """Take what is needed, for the length of the block. Raises `PortTaken` and `TrustTrouble`."""
    with contextlib.closing(listen(port, ANYWHERE if wishes.lan else HOST)) as plain:
        if not wishes.tls:
            yield Ports(plain=plain)
            return
        from server.tls.encryption import open_encryption  # noqa: PLC0415  # its library is loaded only with --tls

        encryption = open_encryption()
        with contextlib.closing(listen(tls_port(port), ANYWHERE)) as encrypted:
            yield Ports(plain=plain, encrypted=encrypted, encryption=encryption)


def config_of(app: Callable[..., object], context: ssl.SSLContext | None = None) -> uvicorn.Config:
    """Give the settings of the web server, the same in tests and benches; with `context` of one that encrypts, beside it."""
    settings: dict[str, Any] = {
        "loop": "asyncio",
        "ws": "websockets-sansio",
        "ws_per_message_deflate": False,  # costs more than it saves on this machine and on a home network
        "ws_max_size": MAX_FRAME_BYTES,
        "log_level": "warning",
        "access_log": False,  # addresses of pages may hold what lets one in
        "proxy_headers": False,  # who is connected is who is connected: the door believes no header
        "server_header": False,
        "timeout_graceful_shutdown": _GRACE_S,
    }
    return uvicorn.Config(app, **settings) if context is None else TlsConfig(app, context=context, **settings)


def server_of(app: Callable[..., object], taken: Ports) -> uvicorn.Server:
    """Give the web server, and one more beside it where the service is encrypted; run it on the plain port."""
    if taken.encryption is None or taken.encrypted is None:
        return uvicorn.Server(config_of(app))
    return First(config_of(app), [(Beside(config_of(app, taken.encryption.context)), taken.encrypted)])


def tls_port(port: int) -> int:
    """Give the port of the encrypted service beside that of the plain one; 0 again for any."""
    return 0 if port == 0 else port + 1 if port < 65535 else port - 1


def listen(port: int, host: str = HOST) -> socket.socket:
    """Take the port, on this machine only unless told otherwise; 0 takes any free one. Raises `PortTaken`."""
    # asyncio switches off the system's collecting of small writes only where the protocol is named: without it a frame that
    # follows a cue waits 40 ms for the cue to be confirmed.
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if os.name == "posix":  # on Windows this option would let two programs share a port
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
        listener.listen()  # a browser that is faster than the service waits
    except OSError as error:
        listener.close()
        raise PortTaken(port) from error
    return listener
