"""On every size of screen: what is read while swinging is on the first screen, whole, and nothing overflows."""

from __future__ import annotations

import pytest
from playwright.async_api import Page, expect

from fusion.outputs.instant import Doubt, Phase
from sensors.ids import Move
from server.wire import SourceView
from server.wire_fit import FitView
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


@pytest.mark.parametrize("screen", list(SCREENS))
async def test_the_fit_moves_are_whole(open_page: OpenPage, feed: Feed, screen: str) -> None:
    live = SourceView(kind="live", name="built-in radio", speed=1.0)
    feed.hello = samples.hello(source=live, fit=FitView(complete=False, taken=[Move.STILL, Move.NEUTRAL]))
    page = await open_page(viewport=SCREENS[screen])
    await page.get_by_text("More accuracy (optional)").click()
    await expect(page.get_by_test_id("fit-hinge")).to_be_visible()
    await shoot(page, f"fit-{screen}", full_page=True)
    assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert await page.evaluate(CLIPPED) == []
    steps = page.locator("[data-testid^=fit-]")
    await expect(steps).to_have_count(len(Move))
    for i in range(len(Move)):
        button = steps.nth(i).get_by_role("button")
        await button.scroll_into_view_if_needed()
        await button.click(trial=True)  # nothing lies over it


# Whether anything of a gauge's picture is drawn where its spread is written.
UNDER_SPREAD = """
(name) => {
  const spread = document.querySelector(`[data-testid=${name}-spread]`).getBoundingClientRect();
  const canvas = document.querySelector(`[data-testid=${name}-spread]`).closest('section').querySelector('canvas');
  const box = canvas.getBoundingClientRect();
  const [left, top] = [Math.max(spread.left, box.left), Math.max(spread.top, box.top)];
  const [right, bottom] = [Math.min(spread.right, box.right), Math.min(spread.bottom, box.bottom)];
  if (right <= left || bottom <= top) return false;
  const density = canvas.width / box.width;
  const at = [left - box.left, top - box.top, right - left, bottom - top].map((v) => Math.max(1, Math.round(v * density)));
  return canvas.getContext('2d').getImageData(...at).data.some((value, i) => i % 4 === 3 && value > 0);
}
"""
# All boxes at one moment, once there is a figure: between two looks it may have become another, or none.
WRITTEN_CLEAR = """
(gauge) => {
  const [spread, ...words] = ['spread', 'word', 'past'].map((name) => document.querySelector(`[data-testid=${gauge}-${name}]`));
  const box = spread.getBoundingClientRect();
  const clear = words.map((one) => one.getBoundingClientRect()).every(
    (word) => box.right <= word.left || word.right <= box.left || box.bottom <= word.top + 2 || word.bottom <= box.top
  );
  return spread.textContent === '' ? null : { clear };
}
"""
# All widths of figure and spread that a wrist and a shaft come to.
WIDE = ((-35.0, 11.2, "± 12°", 104.0), (-35.0, 1.2, "± 2°", 8.0), (26.0, 2.0, "± 2°", 66.0))


@pytest.mark.parametrize("screen", list(SCREENS))
async def test_the_spread_is_written_over_nothing(open_page: OpenPage, feed: Feed, screen: str) -> None:
    page = await open_page(viewport=SCREENS[screen])
    await expect(page.get_by_test_id("bend-word")).to_have_text("as at address")
    for bend_deg, sd_deg, text, pitch_deg in WIDE:
        bend = {"bend_change_deg": bend_deg, "bend_change_sd_deg": sd_deg, "error_deg": -9.0}
        await feed.show(**samples.ARM_LEVEL | bend, shaft_pitch_deg=pitch_deg)
        await expect(page.get_by_test_id("bend-spread")).to_have_text(text)
        await expect(page.get_by_test_id("pitch-figure")).to_have_text(f"{pitch_deg:.0f}°")
        await page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
        for gauge in ("bend", "pitch"):
            assert not await page.evaluate(UNDER_SPREAD, gauge), (gauge, text)
            written = await page.wait_for_function(WRITTEN_CLEAR, arg=gauge)
            assert (await written.json_value())["clear"], (gauge, text)
