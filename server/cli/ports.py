"""Makes sure that the page can be served before anything else starts."""

from __future__ import annotations

import os
import socket

from server.cli.failures import CommandFailed

LOOPBACK = "127.0.0.1"
ANYWHERE = "0.0.0.0"


def check_port(port: int, *, lan: bool = False, beside: int | None = None) -> None:
    """Try the port, on every network with `lan`. Raises `CommandFailed` with what to do when it cannot be had.

    `beside` is the port that was asked for, where this one goes with it.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        if os.name != "nt":  # there, the option would let two programs share a port
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((ANYWHERE if lan else LOOPBACK, port))
        except PermissionError:
            raise CommandFailed(
                f"Port {port} is reserved on this machine. Choose another, for example: --port 8787"
            ) from None
        except OSError:
            if beside is not None:
                raise CommandFailed(
                    f"Encryption needs the port next to {beside}, which is {port} and taken, perhaps by another Pitchbend. Close "
                    f"that one, or choose another port: --port {beside + 2 if beside < 65534 else beside - 3}"
                ) from None
            other = port + 1 if port < 65535 else port - 1
            raise CommandFailed(
                f"Port {port} is taken, perhaps by another Pitchbend. Close that one, or choose another port: --port {other}"
            ) from None
