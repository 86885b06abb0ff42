"""What was said on the command line about joining."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class JoinWishes:
    """Nobody from elsewhere, unless asked for."""

    lan: bool = False
    """Open the service to the local network."""
    tls: bool = False
    """Encrypted, with a certificate of this computer's own."""
