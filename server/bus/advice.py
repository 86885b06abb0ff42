"""What the terminal and the board say of the bus."""

from __future__ import annotations

import ssl

from server.bus.address import NotEncrypted


def away_advice(shown: str, error: Exception | None) -> str:
    """Say why the bus is away; the practice goes on."""
    return f"{_cause(shown, error)} Practices go on without it, and it is tried again by itself."


def back_advice(shown: str) -> str:
    """Say that it is over."""
    return f"The bus at {shown} is there again."


def _cause(shown: str, error: Exception | None) -> str:
    # The protocol has no codes: the server's words are the protocol (docs.nats.io, "Client Protocol", -ERR).
    words = str(error)
    if "Authorization" in words or "Authentication" in words:
        return f"The bus at {shown} refuses this name and password. Check them in the address after --bus."
    if isinstance(error, ssl.SSLError):
        return (
            f"The bus at {shown} and this computer agree on no encryption ({error.reason or 'TLS'}). See docs/board.md."
        )
    if isinstance(error, NotEncrypted):
        return f"The bus at {shown} does not encrypt, and tls:// asks for it. See docs/board.md."
    if isinstance(error, ConnectionRefusedError):
        return f"Nothing answers at {shown}. Start the NATS server there, or correct the address after --bus."
    if isinstance(error, OSError) and error.errno is not None and error.strerror:
        return (
            f"The bus at {shown} cannot be reached ({error.strerror}). Check the network and the address after --bus."
        )
    return f"The bus at {shown} is away."
