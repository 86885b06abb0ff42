"""What reading a recording found wrong with it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(slots=True, kw_only=True)
class ReadReport:
    """Filled while events are read; complete when they are all out."""

    size_bytes: int = 0
    read_bytes: int = 0
    """How far reading has come."""
    truncated: bool = False
    """The file ends in the middle: the program or the machine stopped, or a copy was cut short."""
    n_damaged_chunks: int = 0
    """Stretches (mostly one chunk, about half a second) whose bytes changed; they are left out, never guessed."""
    lost_s: float = 0.0
    """Time from the last event before each damaged stretch to the first one after it, summed."""
    n_unknown_messages: int = 0
    """Messages of a kind that this program does not know, or whose channel was lost."""
    n_malformed: int = 0
    """Messages that do not fit their own kind."""
    n_reintroduced: int = 0
    """Sensors whose introduction was lost in a damaged stretch and was taken from their channel instead."""

    @property
    def is_clean(self) -> bool:
        """Whether everything that was written has been read."""
        return not (self.truncated or self.n_damaged_chunks or self.n_unknown_messages or self.n_malformed)
