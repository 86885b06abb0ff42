"""Golfer and boards, played in step: whoever takes packets moves the time on, slice by slice, for both boards.

Nothing here waits or knows what time it is. A slice is made when the first board's packets have run out, so that what is
asked for is done within a moment, and the golfer never gets far ahead.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from sensors.ids import Move, Role
from sensors.virtual.stage.acts import Act, Golfer
from sensors.virtual.stage.board import Board, TimedPayload
from sensors.virtual.stage.script import Script, TakeUp

SLICE_S: Final = 0.2


@dataclass(frozen=True, slots=True)
class MoveBegun:
    """The golfer is in position for a fit move: the moment to tap."""

    move: Move


@dataclass(frozen=True, slots=True)
class MoveAhead:
    """The golfer goes to the place of a fit move that was not asked for."""

    move: Move


@dataclass(frozen=True, slots=True)
class SwingAhead:
    """The golfer steps to the ball."""

    fault: float


News = MoveBegun | MoveAhead | SwingAhead


def _heard_always() -> bool:
    return True


class Stage:
    """`packets(role)` gives a board's packets without end. `tell` hears what the golfer does, `heard` says if anyone listens."""

    def __init__(
        self,
        golfer: Golfer,
        script: Script,
        boards: Mapping[Role, Board],
        *,
        tell: Callable[[News], None] = lambda _: None,
        heard: Callable[[], bool] = _heard_always,
        slice_s: float = SLICE_S,
    ) -> None:
        self.boards = boards
        self.script = script
        self._golfer = golfer
        self._tell = tell
        self._heard = heard
        self._slice_s = slice_s
        self._waiting: dict[Role, deque[TimedPayload]] = {role: deque() for role in boards}
        self._act: Act | None = None
        self._act_start_s = self._act_end_s = self._now_s = 0.0
        self._n_acts = 0

    def packets(self, role: Role) -> Iterator[TimedPayload]:
        """Give the packets of one board, each with the time at which it is due."""
        waiting = self._waiting[role]
        while True:
            while not waiting:
                self._advance()
            yield waiting.popleft()

    def make_ahead(self, until_s: float) -> None:
        """Make everything up to that time now, for a computer that cannot make it while it plays."""
        while self._now_s < until_s:
            self._advance()

    def _advance(self) -> None:
        if self._act is None or self._now_s >= self._act_end_s:
            self._act = self._next_act()
        act = self._act
        end_s = min(self._now_s + self._slice_s, self._act_end_s)
        if act.move is not None and self._now_s <= self._act_start_s + act.begun_s < end_s:
            self._tell(MoveBegun(act.move))
        for role, board in self.boards.items():
            self._waiting[role].extend(board.sample(act, self._act_start_s, end_s, n_acts=self._n_acts))
        self._now_s = end_s

    def _next_act(self) -> Act:
        wish = self.script.next(heard=self._heard())
        match wish:
            case None:
                act = self._golfer.wait()
            case TakeUp():
                act = self._golfer.take_up(wish.move)
            case Move():
                self._tell(MoveAhead(wish))
                act = self._golfer.fit_move(wish)
            case _:
                self._tell(SwingAhead(wish))
                act = self._golfer.swing(wish)
        self._n_acts += 1
        self._act_start_s = self._now_s
        self._act_end_s = self._now_s + act.duration_s
        return act
