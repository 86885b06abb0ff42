"""What reading a recording found wrong with it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

_MOST_STRETCHES: Final = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class LostStretch:
    """What damage took: nothing between the last event before it and the first one after it."""

    start_ns: int
    end_ns: int

    @property
    def seconds(self) -> float:
        """How long."""
        return (self.end_ns - self.start_ns) * 1e-9


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
    lost: list[LostStretch] = field(default_factory=list)
    """The same, one by one; the first thousand of them."""
    n_foreign_chunks: int = 0
    """Stretches that belong to another recording: the disk had given their place away. Counted as damaged too."""
    wall_minus_host_ns: int | None = None
    """Wall clock less the clock of the stamps, as every message says; None before the first."""
    n_unknown_messages: int = 0
    """Messages of a kind that this program does not know, or whose channel was lost."""
    n_malformed: int = 0
    """Messages that do not fit their own kind."""
    n_reintroduced: int = 0
    """Sensors whose introduction was lost in a damaged stretch and was taken from their channel instead."""

    def note_loss(self, start_ns: int, end_ns: int) -> None:
        """Count a stretch that damage took."""
        stretch = LostStretch(start_ns=start_ns, end_ns=max(start_ns, end_ns))
        self.lost_s += stretch.seconds
        if len(self.lost) < _MOST_STRETCHES:
            self.lost.append(stretch)

    @property
    def share_read(self) -> float:
        """How much of the file has been read, 0 to 1."""
        return min(self.read_bytes / max(self.size_bytes, 1), 1.0)

    @property
    def is_clean(self) -> bool:
        """Whether everything that was written has been read."""
        return not (self.truncated or self.n_damaged_chunks or self.n_unknown_messages or self.n_malformed)
