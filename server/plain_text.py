"""Text that people send: nothing in it may steer a terminal or a page, or be what some database cannot hold."""

from __future__ import annotations

import unicodedata

_STEERING = ("Cc", "Cs")
_BREAKS = ("Zl", "Zp")


def one_plain_line(text: str) -> str:
    """Give it without blanks at its ends. Raises ValueError unless it is one line of plain text."""
    if any(unicodedata.category(one) in _STEERING + _BREAKS for one in text):
        raise ValueError("must be one line of text")
    return text.strip()


def plain_lines(text: str) -> str:
    """Likewise, with as many lines as it likes."""
    if any(unicodedata.category(one) in _STEERING and one != "\n" for one in text):
        raise ValueError("must be plain text")
    return text.strip()
