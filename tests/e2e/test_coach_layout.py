"""The coach's page on a tablet either way up, a phone and a laptop, in both themes: nothing overflows, axe finds nothing."""

from __future__ import annotations

import pytest
from playwright.async_api import Page, expect

from tests.e2e import coach_samples, samples
from tests.e2e.coach_page import open_coach
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.shots import shoot
from tests.e2e.test_accessibility import violations
from tests.e2e.test_layout import CLIPPED

SCREENS = {
    "tablet": {"width": 1024, "height": 768},
    "tablet-upright": {"width": 768, "height": 1024},
    "phone": {"width": 390, "height": 844},
    "laptop": {"width": 1440, "height": 900},
}
# What is tapped and is too small for a thumb; the name on a card is tapped with its whole card.
TARGETS = """
() => [...document.querySelectorAll('button, input:not([type=checkbox]), select, textarea, label:has(input), main a')]
  .map((element) => (element.tagName === 'A' && element.closest('li')) || element)
  .filter((element) => {
    const box = element.getBoundingClientRect();
    return box.width > 0 && (box.height < 44 || box.width < 44);
  })
  .map((element) => element.outerHTML.slice(0, 100))
"""


async def six_with_one_enlarged(open_page: OpenPage, feed: Feed, screen: str, scheme: str) -> Page:
    """Mara in the middle of a swing, five reps behind her."""
    page = await open_coach(open_page, feed, *coach_samples.six(), viewport=SCREENS[screen], color_scheme=scheme)
    await expect(page.get_by_test_id("card-mara-voss")).to_be_visible()
    await shoot(page, f"coach-cards-{screen}-{scheme}", full_page=True)
    assert await page.evaluate(CLIPPED) == []
    assert await violations(page) == []
    await page.get_by_role("link", name="Mara Voss").click()
    await expect(page.get_by_test_id("enlarged")).to_be_visible()
    mara = feed.bays["mara-voss"]
    await expect(page.get_by_test_id("coach-figure")).to_have_text("0°")
    for n, worst_deg in enumerate((-9.0, -20.0, 3.0, -13.0)):
        await coach_samples.play(mara, 10.0 * (n + 1), worst_deg=worst_deg)
        await mara.send(samples.rep(n + 10, t_s=10.0 * (n + 1), worst_deg=worst_deg))
    for message in coach_samples.swing_frames(60.0, worst_deg=-18.0):
        if message.t_s < 60.7:
            await mara.send_timed(message)
    await mara.hold(error_deg=-10.0)
    await expect(page.get_by_test_id("coach-words")).to_contain_text("past")
    await page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    return page


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("screen", list(SCREENS))
async def test_nothing_overflows_and_axe_is_content(open_page: OpenPage, feed: Feed, screen: str, scheme: str) -> None:
    page = await six_with_one_enlarged(open_page, feed, screen, scheme)
    if (screen, scheme) == ("tablet", "light"):
        await shoot(page, "coach-tablet", published=True)
    await shoot(page, f"coach-{screen}-{scheme}", full_page=True)
    assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert await page.evaluate(CLIPPED) == []
    assert await page.evaluate(TARGETS) == []
    assert await violations(page) == []


@pytest.mark.parametrize("screen", list(SCREENS))
async def test_the_figure_and_the_line_are_on_the_first_screen(open_page: OpenPage, feed: Feed, screen: str) -> None:
    page = await six_with_one_enlarged(open_page, feed, screen, "light")
    for name in ("coach-figure", "coach-verdict", "control"):
        box = await page.get_by_test_id(name).bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= SCREENS[screen]["height"], name
    plot = await page.get_by_test_id("trace").get_by_role("img").bounding_box()
    assert plot is not None
    # Higher than wide, the line is begun on the first screen and ends a thumb's way below it.
    seen = 0.4 if SCREENS[screen]["height"] > SCREENS[screen]["width"] else 1.0
    assert plot["y"] + seen * plot["height"] <= SCREENS[screen]["height"]
