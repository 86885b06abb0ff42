"""The texts of the fit moves say the same as the moves themselves."""

from __future__ import annotations

from fusion.calibration.collect import HELD
from fusion.calibration.session import WANTED
from sensors.ids import Move
from server.moves import moves


def test_every_move_has_a_text_and_is_held_or_not_as_it_is_taken() -> None:
    assert set(moves()) == set(Move)
    assert {move for move, text in moves().items() if text.held} == set(HELD)


def test_they_come_in_the_order_in_which_they_are_best_made() -> None:
    assert tuple(moves())[: len(WANTED)] == WANTED
