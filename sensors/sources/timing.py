"""How patient the radio source is. One place for its seconds, so that a test can hurry it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True, kw_only=True)
class RadioTiming:
    """Waiting times of the radio, in seconds."""

    scan_round_s: float = 5.0
    """Longest scan before it is started afresh: a scan that lived through the adapter going off hears nothing more."""
    gather_s: float = 2.0
    """How much longer to scan for the other sensors once one has been heard."""
    gather_rest_s: float = 4.0
    """Between two scans for sensors of any address."""
    not_found_s: float = 10.0
    """A sensor not heard for this long is reported as not found. The search goes on."""
    connect_s: float = 15.0
    prepare_s: float = 5.0
    """For everything between connected and streaming: identity, battery, notifications, the start command."""
    silent_s: float = 2.0
    """A connected sensor that says nothing for this long has hung: its link is made anew."""
    release_s: float = 3.0
    """For the stop command, and again for the disconnection. Then the link is left to its fate."""
    steady_s: float = 5.0
    """A link that streamed for this long was a good one: what went wrong before it is forgotten."""
    backoff_scale: float = 1.0
    """Multiplies the delays of `sensors.sources.backoff`."""
    system_s: float = 10.0
    """What the operating system may take to begin and end a scan. One that hangs must not hold the radio for ever."""

    @property
    def longest_scan_s(self) -> float:
        """A whole round of scanning, by when it must have ended."""
        return self.scan_round_s + self.gather_s + self.system_s


USUAL: Final = RadioTiming()
"""For people and real radios."""
