"""axe finds nothing in any state and either theme, keys reach everything, targets are large, colours contrast."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from axe_playwright_python.async_playwright import Axe
from playwright.async_api import Page, expect

from sensors.ids import Move
from server.wire import ProblemMessage, SourceView
from server.wire_fit import FitView
from tests.e2e import samples
from tests.e2e.conftest import OpenPage
from tests.e2e.feed import Feed

STYLES = Path(__file__).parents[2] / "web" / "src" / "app.css"
RULES = ["wcag2a", "wcag2aa", "wcag2aaa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


async def violations(page: Page) -> list[tuple[str, list[str]]]:
    found = (await Axe().run(page, options={"runOnly": RULES})).response["violations"]
    return [(one["id"], [node["html"][:120] for node in one["nodes"]]) for one in found]


@pytest.mark.parametrize("scheme", ["light", "dark"])
async def test_axe_finds_nothing(open_page: OpenPage, feed: Feed, scheme: str) -> None:
    feed.hello = samples.hello(reps=samples.reps())
    page = await open_page(color_scheme=scheme, cautions_read=False)
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    await feed.show(**samples.CUPPED)
    await feed.send(ProblemMessage(code="clock", text="The clock of this computer was set back."))
    await expect(page.get_by_test_id("bend-past")).to_have_text("▼ 9° past")
    assert await violations(page) == []
    await page.get_by_role("button", name="I have read this").click()
    await page.get_by_test_id("sound").click()
    await expect(page.get_by_test_id("sound")).to_have_text("Sounding")
    assert await violations(page) == []
    feed.now = None
    await expect(page.get_by_test_id("status")).to_have_text("No fresh data")
    assert await violations(page) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
async def test_axe_finds_nothing_while_fitting(open_page: OpenPage, feed: Feed, scheme: str) -> None:
    feed.hello = samples.hello(
        source=SourceView(kind="live", name="built-in radio", speed=1.0),
        fit=FitView(complete=False, taken=[Move.STILL]),
    )
    page = await open_page(color_scheme=scheme)
    await expect(page.get_by_test_id("fit-neutral")).to_be_visible()
    assert await violations(page) == []


async def test_axe_would_find_a_planted_fault(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    await page.evaluate("() => document.querySelector('main').insertAdjacentHTML('beforeend', '<img src=\"data:,\">')")
    assert "image-alt" in [rule for rule, _ in await violations(page)]


async def test_keys_reach_the_controls_and_focus_is_seen(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page()
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    await page.keyboard.press("Tab")
    await expect(page.get_by_role("button", name="Evening")).to_be_focused()
    await page.keyboard.press("Tab")
    sound = page.get_by_test_id("sound")
    await expect(sound).to_be_focused()
    outline = await sound.evaluate("(e) => parseFloat(getComputedStyle(e).outlineWidth)")
    assert outline >= 3
    await page.keyboard.press("Enter")
    await expect(sound).to_have_text("Sound on")
    await expect(sound).to_have_attribute("aria-pressed", "true")
    await page.keyboard.press("Tab")
    await expect(page.get_by_test_id("pause")).to_be_focused()
    await page.keyboard.press("Tab")
    await expect(page.get_by_test_id("stand")).to_be_focused()
    await page.keyboard.press("Tab")
    await expect(page.get_by_test_id("open-health")).to_be_focused()
    for unit in ("Centimetres", "Inches"):
        await page.keyboard.press("Tab")
        await expect(page.get_by_role("button", name=unit)).to_be_focused()
    await page.keyboard.press("Tab")
    await expect(page.get_by_label("Volume")).to_be_focused()


async def test_every_control_is_large_enough_for_a_glove(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(cautions_read=False)
    await feed.send(ProblemMessage(code="clock", text="The clock of this computer was set back."))
    await expect(page.get_by_test_id("bend-figure")).to_have_text("0°")
    small = await page.locator("button, input, summary").evaluate_all(
        "(all) => all.filter((e) => e.getBoundingClientRect().height < 44).map((e) => e.outerHTML.slice(0, 80))"
    )
    assert small == []


async def test_the_theme_follows_the_device_until_one_is_chosen(open_page: OpenPage, feed: Feed) -> None:
    page = await open_page(color_scheme="dark")
    html = page.locator("html")
    await expect(html).to_have_attribute("data-theme", "evening")
    await page.emulate_media(color_scheme="light")
    await expect(html).to_have_attribute("data-theme", "day")
    await page.get_by_role("button", name="Evening").click()
    await expect(html).to_have_attribute("data-theme", "evening")
    await page.reload()
    await expect(html).to_have_attribute("data-theme", "evening")


def palette(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([a-z-]+):\s*(#[0-9a-f]{6});", block))


def luminance(color: str) -> float:
    parts = [int(color[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_gives_the_published_values() -> None:
    assert contrast("#ffffff", "#000000") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)
    assert contrast("#ff0000", "#000000") == pytest.approx(5.25, abs=0.005)


def test_what_the_pictures_are_drawn_with_contrasts() -> None:
    day, evening = (palette(block) for block in STYLES.read_text(encoding="utf-8").split("}")[:2])
    for colors in (day, evening):
        assert contrast(colors["ink"], colors["paper"]) > 15
        for text in ("soft", "accent", "alarm"):
            assert contrast(colors[text], colors["paper"]) >= 7, text
        assert contrast(colors["accent"], colors["accent-wash"]) >= 3
        assert contrast(colors["alarm"], colors["accent-wash"]) >= 3
        assert contrast(colors["ink"], colors["accent-wash"]) >= 7
        assert contrast(colors["line-strong"], colors["paper"]) >= 3
