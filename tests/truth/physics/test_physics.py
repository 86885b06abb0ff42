"""The product on a practice it shares no code with: import, analyse, and the answer against the engine's truth."""

from __future__ import annotations

import numpy as np
import pytest

pytest.importorskip("mujoco")

from tests.truth.physics.product import run_product
from tests.truth.physics.score import DATES, MARKS, score

TOP = MARKS.index("top")


@pytest.fixture(scope="module")
def judged(short_practice):
    _, folder = short_practice
    run_product(folder)
    return score(folder)


def rmse(errors):
    assert np.isfinite(errors).all()
    return float(np.sqrt(np.mean(np.square(errors))))


def test_every_swing_is_found_and_none_invented(judged):
    assert judged.n_swings >= 5
    assert (judged.n_missed, judged.n_invented) == (0, 0)


@pytest.mark.parametrize(
    ("quantity", "limit"), [("bend_change_deg", 3.0), ("hinge_change_deg", 3.0), ("shaft_elevation_deg", 1.5)]
)
def test_values_at_the_top(judged, quantity, limit):
    """Twice the project's own targets: six swings with slip, skin and play drawn at random."""
    assert rmse(judged.as_read[quantity][:, TOP]) < limit


def test_pitch_at_lead_arm_level(judged):
    assert rmse(judged.as_read["shaft_pitch_deg"][:, MARKS.index("lead_arm_level")]) < 4.0


def test_dates(judged):
    """By arrival, so 5 to 8 ms late by radio and low-pass, which nothing in the data tells."""
    for name in ("shaft_level", "lead_arm_level", "top", "impact"):
        assert np.abs(judged.date_ms[:, DATES.index(name)]).max() < 25.0, name


def test_face_twist_has_the_right_sign(judged):
    """Far from exact is enough to tell shut from open."""
    assert rmse(judged.as_read["face_twist_deg"][:, TOP]) < 10.0
