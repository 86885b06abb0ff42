"""What colour tells is told to people who see few colours, too: by lightness in their eyes, and by shape.

Simulated by the matrices of Machado, Oliveira and Fernandes (2009), "A physiologically-based model for simulation of color vision
deficiency", IEEE TVCG 15:1291-1298, at severity 1.0, on linear RGB; written down from memory of the published table.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from playwright.async_api import expect

from tests.e2e import samples
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.test_accessibility import STYLES, palette

MATRICES = {
    "protanopia": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deuteranopia": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
}
LEAST = 3.0
"""Contrast of WCAG 2.2, 1.4.11, for parts of a picture."""


def linear(color: str) -> NDArray[np.float64]:
    parts = np.array([int(color[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def seen(color: str, sight: str) -> float:
    """Luminance as that person has it."""
    rgb = np.clip(np.array(MATRICES[sight]) @ linear(color), 0.0, 1.0)
    return float(rgb @ [0.2126, 0.7152, 0.0722])


def contrast(one: str, other: str, sight: str) -> float:
    light, dark = sorted((seen(one, sight), seen(other, sight)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("sight", list(MATRICES))
def test_grey_stays_grey(sight: str) -> None:
    """Every row of such a matrix sums to one: a slip in writing it down would show here."""
    assert np.array(MATRICES[sight]).sum(axis=1) == pytest.approx(1.0, abs=2e-6)


@pytest.mark.parametrize("sight", list(MATRICES))
def test_red_and_green_of_one_lightness_fall_together(sight: str) -> None:
    """The simulation does what it is for: the two that such eyes confuse come near each other."""
    red, green = linear("#b05a5a"), linear("#6d7a3c")
    before = float(np.linalg.norm(red - green))
    after = float(np.linalg.norm(np.array(MATRICES[sight]) @ (red - green)))
    assert after < 0.7 * before


@pytest.mark.parametrize("sight", list(MATRICES))
@pytest.mark.parametrize("theme", [0, 1])
def test_alarm_and_band_stand_out_from_paper_and_from_the_wash(sight: str, theme: int) -> None:
    colors = palette(Path(STYLES).read_text(encoding="utf-8").split("}")[theme])
    for name in ("alarm", "accent", "ink"):
        assert contrast(colors[name], colors["paper"], sight) >= LEAST, name
        assert contrast(colors[name], colors["accent-wash"], sight) >= LEAST, name


async def test_marks_of_reps_have_shapes_of_their_own(open_page: OpenPage, feed: Feed) -> None:
    """With every colour taken away: no two kinds of rep, cued and silent, look the same."""
    kinds = [samples.good_rep(1), samples.rep(2), samples.bowed_rep(3), samples.unjudged_rep(4)]
    silent = [one.model_copy(update={"index": one.index + 4, "cued": False}) for one in kinds]
    feed.hello = samples.hello(reps=[*kinds, *silent])
    page = await open_page(stand=True)
    marks = page.get_by_test_id("strip").locator("svg")
    await expect(marks).to_have_count(8)
    await page.add_style_tag(
        content=":root { --accent: #000 !important; --alarm: #000 !important; --soft: #000 !important; }"
    )
    drawn = await marks.evaluate_all(
        """(all) => all.map((svg) => {
          const shape = svg.firstElementChild, style = getComputedStyle(shape);
          return [shape.tagName, shape.getAttribute('d'), style.fill === 'none', style.strokeWidth, style.strokeDasharray].join();
        })"""
    )
    assert len(set(drawn)) == 8, drawn
