"""The last seconds of one sensor's samples in one piece of memory, so that a stretch of them is cut out without copying.

Rests are looked for twenty times a second, and putting a stretch together from ten packets each time took longer than
measuring it.
"""

from __future__ import annotations

import bisect
from collections import deque
from collections.abc import Sequence
from itertools import chain

import numpy as np

from fusion.orientation.window import INSTANT_S, Array, Stretch
from fusion.rotation import Quat

_ROOM = 1024
"""Samples there is room for at first: two seconds at 200 Hz, and as many again before they are moved to the front."""


_Block = tuple[Array, Array, Array, Sequence[Quat]]


class History:
    """Keeps whole blocks whose last sample is at most `kept_s` older than the newest; a step of more than `hole_s` is a hole."""

    def __init__(self, kept_s: float, hole_s: float) -> None:
        self._kept_s = kept_s
        self._hole_s = hole_s
        self._columns = (np.empty(_ROOM), np.empty((_ROOM, 3)), np.empty((_ROOM, 3)), np.empty((_ROOM, 4)))
        self._first = self._end = 0
        """The samples that count lie between these rows."""
        self._blocks: deque[tuple[float, int]] = deque()
        """Time of the last sample of each block, and how many it has."""
        self._holes: list[int] = []
        """Rows that follow a hole, in order."""
        self._waiting: list[_Block] = []
        """The newest blocks, which have rows but do not stand in them yet: who moves about asks for none of them."""

    def clear(self) -> None:
        """Forget everything."""
        self._first = self._end = 0
        self._blocks.clear()
        self._holes.clear()
        self._waiting.clear()

    def push(self, t_s: Array, gyr_rad_s: Array, acc_m_s2: Array, quats: Sequence[Quat]) -> None:
        """Take in a block: shapes (n,), (n, 3), (n, 3), and n orientations."""
        n = len(t_s)
        if self._end + n > len(self._columns[0]):
            self._move_to_front(n)
        row, end = self._end, self._end + n
        last_s = float(t_s[-1])
        if self._blocks and t_s[0] - self._blocks[-1][0] > self._hole_s:
            self._holes.append(row)
        self._waiting.append((t_s, gyr_rad_s, acc_m_s2, quats))
        self._end = end
        blocks = self._blocks
        blocks.append((last_s, n))
        while last_s - blocks[0][0] > self._kept_s:
            self._first += blocks.popleft()[1]

    def between(self, start_s: float, end_s: float) -> Stretch | None:
        """Samples from `start_s` to `end_s`, both included, that follow the last hole before `end_s`; None if there are none.

        Views: good until the next block is pushed.
        """
        self._settle()
        times, rates, forces, orientations = self._columns
        kept = times[self._first : self._end]
        first = self._first + int(kept.searchsorted(start_s - INSTANT_S))
        end = self._first + int(kept.searchsorted(end_s + INSTANT_S))
        n_holes = bisect.bisect_left(self._holes, end)
        if n_holes:
            first = max(first, self._holes[n_holes - 1])
        if first >= end:
            return None
        here = slice(first, end)
        return Stretch(
            t_s=times[here], gyr_rad_s=rates[here], acc_m_s2=forces[here], q_free_from_sensor=orientations[here]
        )

    def _settle(self) -> None:
        """Write the blocks that wait into their rows, all at once."""
        if not self._waiting:
            return
        times, rates, forces, quats = zip(*self._waiting, strict=True)
        self._waiting.clear()
        n = sum(map(len, quats))
        here = slice(self._end - n, self._end)
        for column, values in zip(self._columns, (times, rates, forces), strict=False):
            column[here] = np.concatenate(values)
        orientations = np.fromiter(chain.from_iterable(chain.from_iterable(quats)), np.float64, 4 * n)
        self._columns[3][here] = orientations.reshape(n, 4)

    def _move_to_front(self, n_more: int) -> None:
        """Make room for so many more; twice as much as before if what is kept takes half of it."""
        self._settle()
        kept = slice(self._first, self._end)
        n = self._end - self._first
        room = len(self._columns[0])
        while 2 * (n + n_more) > room:
            room *= 2
        times, rates, forces, orientations = (
            np.empty((room, *column.shape[1:])) for column in self._columns
        )  # fmt: skip
        for new, old in zip((times, rates, forces, orientations), self._columns, strict=True):
            new[:n] = old[kept]
        self._columns = (times, rates, forces, orientations)
        self._holes = [row - self._first for row in self._holes if row > self._first]
        self._first, self._end = 0, n
