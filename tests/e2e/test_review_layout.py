"""The review page on a phone, a tablet and a laptop, in both themes: nothing overflows, axe finds nothing."""

from __future__ import annotations

import pytest
from playwright.async_api import Browser, expect

from tests.e2e.browser import PHONE, TABLET
from tests.e2e.review_store import LAPTOP, go, the_reps
from tests.e2e.shots import shoot
from tests.e2e.test_accessibility import violations
from tests.e2e.test_coach_layout import TARGETS

SCREENS = {"phone": PHONE, "tablet": TABLET, "laptop": LAPTOP}
# What is cut off or stands beside the screen, but for what lies in a box that can be moved to the side.
CLIPPED = """
() => {
  const movable = (element) => ['auto', 'scroll'].includes(getComputedStyle(element).overflowX);
  const inside = (element) => element && (movable(element) || inside(element.parentElement));
  return [...document.querySelectorAll('main *, header *')].filter((element) => {
    if (element.closest('.unseen, svg, .uplot') || inside(element)) return false;
    const box = element.getBoundingClientRect();
    if (box.width === 0 || box.height === 0) return false;
    const cut = getComputedStyle(element).overflow !== 'visible' && element.scrollWidth > element.clientWidth + 1;
    return cut || box.left < -1 || box.right > innerWidth + 1;
  }).map((element) => element.outerHTML.slice(0, 120));
}
"""


@pytest.mark.parametrize(
    ("screen", "scheme"), [("phone", "light"), ("phone", "dark"), ("tablet", "dark"), ("laptop", "light")]
)
async def test_nothing_overflows_and_axe_is_content(
    browser: Browser, review_address: str, screen: str, scheme: str
) -> None:
    key, _ = await the_reps(review_address)
    context = await browser.new_context(viewport=SCREENS[screen], bypass_csp=True, color_scheme=scheme)
    page = await context.new_page()
    await page.goto(f"{review_address}/#review/{key}/6")
    await expect(page.get_by_test_id("plot-shaft_pitch_deg").locator("canvas")).to_be_visible()
    await page.get_by_role("button", name="Best here").click()
    await page.wait_for_function("window.__pitchbendReview.open?.line()")
    await go(page, 2)
    assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert await page.evaluate(CLIPPED) == []
    assert await page.evaluate(TARGETS) == []
    assert await violations(page) == []
    published = (screen, scheme) in (("laptop", "light"), ("phone", "light"))
    await shoot(page, f"review-{screen}" if published else f"review-{screen}-{scheme}", published=published)
    await shoot(page, f"review-whole-{screen}-{scheme}", full_page=True)
    await page.goto(f"{review_address}/#review")
    await expect(page.get_by_test_id("practices")).to_contain_text("Maren Tolk")
    assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert await violations(page) == []
    await context.close()
