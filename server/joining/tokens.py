"""Secrets that let somebody in, and how one is recognised without telling by the time it takes how near a guess was."""

from __future__ import annotations

import re
import secrets
from collections.abc import Iterable
from typing import Final, Protocol, TypeVar

TOKEN_BYTES: Final = 18
"""144 bits, as 24 letters, digits, dashes and underscores: none of them is altered in an address."""
TOKEN_FORM: Final = re.compile(r"[A-Za-z0-9_-]{24}")


class HasToken(Protocol):
    """What a secret stands for."""

    @property
    def token(self) -> str:
        """The secret."""


_T = TypeVar("_T", bound=HasToken)


def new_token() -> str:
    """Draw a secret from the system's own randomness."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def recognise(said: str, known: Iterable[_T]) -> _T | None:
    """Find whose secret was said. All are compared, each in a time that does not depend on where it differs."""
    if not TOKEN_FORM.fullmatch(said):
        return None
    found: _T | None = None
    for one in known:
        if secrets.compare_digest(said, one.token):
            found = one
    return found
