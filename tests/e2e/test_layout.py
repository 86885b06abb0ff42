"""On every size of screen: what is read while swinging is on the first screen, whole, and nothing overflows."""

from __future__ import annotations

import pytest
from playwright.async_api import Page, expect

from fusion.outputs import Doubt, Phase
from tests.e2e import samples
from tests.e2e.browser import SCREENS
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed
from tests.e2e.shots import shoot

PUBLISHED = {("tablet", "light"), ("phone", "dark")}
FIRST_SCREEN = ("headline", "bend-figure", "bend-word", "bend-past", "pitch-figure", "pitch-word", "verdict")

# Elements whose own text or drawing does not fit into them or sticks out of the page.
CLIPPED = """
() => [...document.querySelectorAll('main *, header *')].filter((element) => {
  const style = getComputedStyle(element);
  if (style.clipPath !== 'none' || element.closest('.unseen') || element.closest('svg')) return false;
  const box = element.getBoundingClientRect();
  if (box.width === 0 || box.height === 0) return false;
  const cut = style.overflow !== 'visible' && style.textOverflow !== 'ellipsis' && element.scrollWidth > element.clientWidth + 1;
  return cut || box.left < -1 || box.right > innerWidth + 1;
}).map((element) => element.outerHTML.slice(0, 120))
"""

# Whether the picture's drawing touches its own edge on the sides: there it would be cut off.
TOUCHES_EDGE = """
() => [...document.querySelectorAll('canvas')].map((canvas) => {
  const { data, width, height } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
  for (let y = 0; y < height * 0.8; y += 1) for (const x of [0, width - 1]) if (data[4 * (y * width + x) + 3] > 0) return true;
  for (let x = 0; x < width; x += 1) if (data[4 * x + 3] > 0) return true;
  return false;
})
"""


async def show_worst(page: Page, feed: Feed) -> None:
    await expect(page.get_by_test_id("bend-word")).to_have_text("as at address")
    await feed.show(**samples.CUPPED)
    await expect(page.get_by_test_id("bend-past")).to_have_text("▼ 9° past")
    await page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("screen", list(SCREENS))
async def test_the_first_screen_is_whole(open_page: OpenPage, feed: Feed, screen: str, scheme: str) -> None:
    feed.hello = samples.hello(reps=samples.reps())
    page = await open_page(viewport=SCREENS[screen], color_scheme=scheme)
    await show_worst(page, feed)
    await shoot(page, f"live-{screen}-{scheme}", published=(screen, scheme) in PUBLISHED)
    assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert await page.evaluate(CLIPPED) == []
    assert await page.evaluate(TOUCHES_EDGE) == [False, False]
    sound = await page.get_by_test_id("sound").bounding_box()
    assert sound is not None
    assert sound["y"] + sound["height"] <= SCREENS[screen]["height"]
    for name in FIRST_SCREEN:
        box = await page.get_by_test_id(name).bounding_box()
        assert box is not None, name
        assert box["y"] >= 0, name
        assert box["y"] + box["height"] <= sound["y"], name


async def test_the_figure_on_a_phone_can_be_read_from_three_metres(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    size = await page.get_by_test_id("bend-figure").evaluate("(e) => parseFloat(getComputedStyle(e).fontSize)")
    assert size >= 0.2 * SCREENS["phone"]["width"]


@pytest.mark.parametrize("elevation_deg", [-50.0, 50.0])
@pytest.mark.parametrize("address_deg", [40.0, 66.0])
@pytest.mark.parametrize("screen", ["phone", "phone-sideways", "tablet"])
async def test_shaft_ball_and_ghost_fit_wherever_the_shaft_points(
    open_page: OpenPage, feed: Feed, screen: str, address_deg: float, elevation_deg: float
) -> None:
    feed.hello = samples.hello(reps=[samples.rep(1, arm_level=samples.mark(-3.0, 108.0))])
    feed.now = samples.frame(shaft_pitch_deg=address_deg)
    page = await open_page(viewport=SCREENS[screen])
    figure = page.get_by_test_id("pitch-figure")
    for pitch_deg in (8.0, 31.0, 76.0, 90.0, 104.0):
        await feed.show(phase=Phase.TAKEAWAY, shaft_pitch_deg=pitch_deg, shaft_elevation_deg=elevation_deg)
        await expect(figure).to_have_text(f"{pitch_deg:.0f}°")
        await page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
        assert await page.evaluate(TOUCHES_EDGE) == [False, False]


@pytest.mark.parametrize("degrees", [-88.0, 88.0])
async def test_wild_angles_stay_inside_their_pictures(open_page: OpenPage, feed: Feed, degrees: float) -> None:
    page = await open_page()
    await expect(page.get_by_test_id("bend-word")).to_have_text("as at address")
    await feed.show(**samples.ARM_LEVEL, bend_change_deg=degrees, shaft_pitch_deg=90.0 + degrees)
    await expect(page.get_by_test_id("bend-figure")).to_have_text("\u221288°" if degrees < 0 else "88°")
    await page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    assert await page.evaluate(TOUCHES_EDGE) == [False, False]


async def test_a_long_word_does_not_push_the_picture(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    canvas = page.locator("canvas").nth(1)
    await expect(page.get_by_test_id("pitch-figure")).to_have_text("57°")
    before = await canvas.bounding_box()
    await feed.show(shaft_pitch_deg=None, pitch_doubt=Doubt.FORESHORTENED)
    await expect(page.get_by_test_id("pitch-word")).to_have_text("shaft points along your line")
    after = await canvas.bounding_box()
    assert before is not None
    assert after is not None
    assert before["width"] == after["width"]
