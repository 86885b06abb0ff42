"""States of a practice to go on from, so that a jump need not play everything before it again."""

from __future__ import annotations

import bisect
import zlib
from collections import deque
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Final

from sensors.record.reader import Place

_NEAR: Final = 8
"""States kept in memory, of places where somebody has just been: half a megabyte each."""
_QUICK: Final = 1
"""zlib: half the size for the least time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """Where a state was saved: after the first `n_events` of the recording, the last of which came at `at_ns`."""

    n_events: int
    at_ns: int
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class Keyframe:
    """A saved state."""

    mark: Mark
    state: bytes
    pure: bool
    """Of the recording alone: nothing that was chosen on the page is in it."""
    n_added: int = 0
    """How many of the page's own remarks are in it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spilled:
    """A saved state that lies in a file."""

    mark: Mark
    offset: int
    length: int


def spill(file: IO[bytes], mark: Mark, state: bytes) -> Spilled:
    """Put a state at the end of a file."""
    packed = zlib.compress(state, _QUICK)
    offset = file.tell()
    file.write(packed)
    return Spilled(mark=mark, offset=offset, length=len(packed))


class Keyframes:
    """Those in the file of the first reading, and a few near where somebody is."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._spilled: list[Spilled] = []
        self._near: deque[Keyframe] = deque(maxlen=_NEAR)

    def add(self, spilled: Spilled) -> None:
        """Know of one in the file; they come in order."""
        self._spilled.append(spilled)

    def keep(self, keyframe: Keyframe) -> None:
        """Keep one in memory, in the place of the oldest."""
        self._near.append(keyframe)

    def forget(self) -> None:
        """What was chosen or said has changed: those in memory hold what is no longer so."""
        self._near.clear()

    def newest(self, *, at_ns: int, n_events: int | None = None) -> Mark | None:
        """The last state that is no later than a time, or than so many events."""
        marks = [one.mark for one in self._near if _before(one.mark, at_ns, n_events)]
        i = bisect.bisect_right(
            self._spilled, at_ns if n_events is None else n_events,
            key=lambda one: one.mark.at_ns if n_events is None else one.mark.n_events,
        )  # fmt: skip
        marks += [self._spilled[i - 1].mark] if i else []
        return max(marks, key=lambda mark: mark.n_events, default=None)

    def load(self, mark: Mark) -> Keyframe | None:
        """Fetch it; None when the file cannot be read."""
        near = next((one for one in self._near if one.mark is mark), None)
        if near is not None:
            return near
        i = bisect.bisect_left(self._spilled, mark.n_events, key=lambda one: one.mark.n_events)
        spilled = self._spilled[i]
        try:
            with self._path.open("rb") as file:
                file.seek(spilled.offset)
                state = zlib.decompress(file.read(spilled.length))
        except (OSError, zlib.error):
            return None
        return Keyframe(mark=spilled.mark, state=state, pure=True)


def _before(mark: Mark, at_ns: int, n_events: int | None) -> bool:
    return mark.at_ns <= at_ns if n_events is None else mark.n_events <= n_events
