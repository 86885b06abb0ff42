"""What the golfer does next: what was asked for, else the fit moves, else swings, with the fault and without by turns."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from sensors.ids import Move

FIT: Final = (Move.STILL, Move.NEUTRAL, Move.ROLL, Move.TWIRL, Move.LOCKED, Move.PALM, Move.ADDRESS)
"""The moves of a full fit, in the order in which the page asks for them."""
ENOUGH: Final = (Move.NEUTRAL, Move.ROLL, Move.TWIRL, Move.ADDRESS)
"""Once these were asked for there is something to swing for: the address is the last one, whatever else is asked for."""
FAULTS: Final = (0.75, 0.0, 0.7, 0.35, 0.05, 0.8)
"""How much of the fault the swings have, over and over."""


@dataclass(frozen=True, slots=True)
class TakeUp:
    """Be ready for a fit move."""

    move: Move


Wish = Move | TakeUp | float | None
"""A fit move, the way to one, a swing with so much of the fault, or nothing: wait."""


class Script:
    """`next()` says what to do.

    `fit` are the moves made unasked, before the swings; with none of them the golfer waits to be asked. After `n_swings`
    swings the round begins again, with the fit moves too if `refit`.
    """

    def __init__(self, *, fit: Iterable[Move] = FIT, n_swings: int = 12, refit: bool = False) -> None:
        if n_swings < 1:
            raise ValueError("a round needs a swing")
        self._fit = tuple(fit)
        self._n_swings = n_swings
        self._refit = refit
        self._asked: deque[Wish] = deque()
        self._made: set[Move] = set()
        self._plan: deque[Wish] = deque()
        self._n_swung = 0
        self.begin()

    def begin(self) -> None:
        """Begin with the fit: a new listener is there."""
        self._made.clear()
        self._n_swung = 0
        self._plan = deque(self._fit)

    def ask(self, wish: Move | TakeUp | float) -> None:
        """Do this next."""
        self._asked.append(wish)

    def next(self, *, heard: bool) -> Wish:
        """Say what to do now; `heard` is whether anyone listens to the sensors."""
        wish: Wish = None
        if self._asked:
            wish = self._asked.popleft()
        elif not heard:
            return None
        elif self._plan:
            wish = self._plan.popleft()
        elif self._fit or set(ENOUGH) <= self._made:
            wish = FAULTS[self._n_swung % len(FAULTS)]
        if isinstance(wish, Move):
            self._made.add(wish)
        elif isinstance(wish, float):
            self._n_swung += 1
            if self._refit and self._n_swung % self._n_swings == 0:
                self._plan = deque(self._fit)
        return wish
