"""Where in a recording it is, and how it comes to be elsewhere: from the nearest saved state, in slices."""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from sensors.events import SourceEvent
from server.replay.keyframe import Keyframe, Keyframes
from server.replay.stage import Stage
from server.replay.stream import Stream

_NEAR_NS: Final = 1_000_000_000
"""A state is kept so long before where somebody went: from there they often go on by small steps, back as well."""
_NEAR_EVENTS: Final = 60
_ALOUD_NS: Final = 500_000_000
"""A jump ahead that is no longer than this is played to the pages: they then lack nothing between."""
_SLICE_S: Final = 0.008
"""Others wait no longer than this while a jump is under way."""
_KEPT_PACKETS: Final = 128


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """Where somebody wants to be: with every event played up to a time, or the first so many."""

    at_ns: int
    n_events: int | None = None

    def is_after(self, event: SourceEvent, n_events: int) -> bool:
        """Whether an event, with so many before it, belongs to what is to be played."""
        return event.arrival_ns <= self.at_ns if self.n_events is None else n_events < self.n_events


class Head:
    """The place that is being played."""

    def __init__(self, path: Path, stage: Stage, keyframes: Keyframes, *, clock_s: Callable[[], float]) -> None:
        self.keyframes = keyframes
        self.at_ns = 0
        """Where it is, maybe between two events."""
        self._path = path
        self._stage = stage
        self._clock_s = clock_s
        self._added: list[SourceEvent] = []
        self._packets: deque[tuple[int, int]] = deque(maxlen=_KEPT_PACKETS)
        """Of the latest packets that brought a frame: how many events were before it, and when it came."""
        self.stream = Stream(path, added=self._added)

    def close(self) -> None:
        """Let go of the file."""
        self.stream.close()

    def push(self, event: SourceEvent) -> bool:
        """Play the event that comes next; True when it brought a frame."""
        n_frames, n_events = self._stage.n_frames, self.stream.n_events
        self._stage.push(event)
        self.stream.take()
        self.at_ns = event.arrival_ns
        if self._stage.n_frames == n_frames:
            return False
        self._packets.append((n_events, event.arrival_ns))
        return True

    def add(self, event: SourceEvent) -> None:
        """What somebody has just added belongs here from now on."""
        self._added.insert(self.stream.n_added, event)
        self.stream.n_added += 1
        self.keyframes.forget()

    def packets_ago(self, n: int, first_ns: int) -> Target:
        """Where one is before the last `n` packets that brought a frame."""
        packets = list(self._packets)
        if len(packets) <= n:
            return Target(at_ns=first_ns)
        n_events, _ = packets[-n]
        return Target(at_ns=packets[-n - 1][1], n_events=n_events)

    def begin_again(self) -> None:
        """Be at the beginning, in front of everybody."""
        self._from_beginning()
        self._stage.be_heard()

    def set_off(self, target: Target, *, from_end: bool) -> bool:
        """Be at a place from which the target is ahead. True when the pages may watch the way there."""
        here = self.stream
        ahead = here.last_ns is not None and not from_end and (
            here.last_ns <= target.at_ns if target.n_events is None else here.n_events <= target.n_events
        )  # fmt: skip
        mark = self.keyframes.newest(at_ns=target.at_ns, n_events=target.n_events)
        if ahead and (mark is None or mark.n_events <= here.n_events):
            if target.at_ns - self.at_ns <= _ALOUD_NS and self._stage.is_heard:
                return True
            self._stage.be_quiet()
            return False
        keyframe = self.keyframes.load(mark) if mark is not None else None
        if keyframe is None:
            self._from_beginning()
        else:
            self._stage.restore(keyframe.state, keyframe.mark.at_ns, pure=keyframe.pure)
            self._move(Stream(self._path, keyframe.mark, added=self._added, n_added=keyframe.n_added))
        return False

    async def run_up(self, target: Target, *, wanted: Callable[[], Target | None]) -> bool:
        """Play up to the target; False when something else is wanted meanwhile."""
        slice_s = self._clock_s() + _SLICE_S
        while (event := self.stream.peek()) is not None and target.is_after(event, self.stream.n_events):
            if self._comes_near(target, event):
                self.keyframes.keep(
                    Keyframe(
                        mark=self.stream.mark, state=self._stage.save(), pure=False, n_added=self.stream.n_added
                    )
                )  # fmt: skip
            self.push(event)
            if self._clock_s() > slice_s:
                await asyncio.sleep(0)
                slice_s = self._clock_s() + _SLICE_S
                if wanted() is not target:
                    return False
        if event is not None:
            self.at_ns = target.at_ns
        return True

    def _comes_near(self, target: Target, event: SourceEvent) -> bool:
        last_ns, n_events = self.stream.last_ns, self.stream.n_events
        if last_ns is None:
            return False
        if target.n_events is not None:
            return n_events == target.n_events - _NEAR_EVENTS
        near_ns = target.at_ns - _NEAR_NS
        return last_ns < near_ns <= event.arrival_ns

    def _from_beginning(self) -> None:
        self._stage.begin()
        self._move(Stream(self._path, added=self._added))

    def _move(self, stream: Stream) -> None:
        self.stream.close()
        self.stream = stream
        self._packets.clear()
