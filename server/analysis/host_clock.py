"""From session time back to the clock on which data arrived."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

ZERO_NOTE: Final = "arrival_zero_s"
"""Note of an imported recording: the whole second on the arrival clock from which its stamps count."""


class HostClock:
    """Knows its beginning once the first event has been shown to it."""

    def __init__(self, notes: Mapping[str, str]) -> None:
        """Take the zero from a recording's notes; a recording made live has none, and its stamps count as they are."""
        text = notes.get(ZERO_NOTE, "0")
        self._zero_s = int(text) if text.lstrip("-").isdecimal() else 0
        self._first_ns: int | None = None
        self._last_ns = 0

    def see(self, arrival_ns: int) -> None:
        """Show it an event: session time is zero at the first one."""
        if self._first_ns is None:
            self._first_ns = arrival_ns
        self._last_ns = arrival_ns

    @property
    def length_s(self) -> float:
        """From the first event shown to the last one."""
        return (self._last_ns - (self._first_ns or 0)) * 1e-9

    def host_s(self, session_s: float) -> float:
        """Seconds on the arrival clock."""
        return self._zero_s + ((self._first_ns or 0) * 1e-9 + session_s)

    def host_s_or_none(self, session_s: float | None) -> float | None:
        """The same, where absent stays absent."""
        return None if session_s is None else self.host_s(session_s)
