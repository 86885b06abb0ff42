"""The sensors' clocks put together on a practice it shares no code with, against the clocks that the generator drew."""

from __future__ import annotations

import pytest

pytest.importorskip("mujoco")

from tests.truth.physics.clocks import apart
from tests.truth.physics.product import run_import


def test_the_pair_agrees_to_a_millisecond_once_the_moves_are_made(short_practice):
    """They are made within the first one and a half minutes; drifts of up to 50 ppm each, least delays of 2 to 5 ms."""
    _, folder = short_practice
    run_import(folder)
    after = [one for one in apart(folder, 15.0) if one.at_s > 100.0]
    assert len(after) > 4
    assert max(abs(one.stamped_ms) for one in after) < 1.0
